/**
 * A guard's rule that a person set: it stands as set, in how many frames it holds is said beside it, and where the finders have another
 * rule or none that is said too. It is held against every frame, as the proof holds a map's rule (`map/checksum.ts`, `map/counter.ts`).
 */
import { bitPositions, type Placement } from '../frames/bits.ts';
import type { Stream } from '../frames/table.ts';
import { lengthAt } from '../frames/table.ts';
import { grouped } from '../kit/figures.ts';
import { median } from '../kit/statistics/order.ts';
import { compileChecksum, verifyChecksum } from '../map/checksum.ts';
import { checkContinuity } from '../map/counter.ts';
import { compileGuard } from '../map/decode.ts';
import { isByHand } from '../map/evidence.ts';
import { valuesOnPage } from '../map/page-values.ts';
import { canCoincide, isSameWhen } from '../map/pages.ts';
import type { Evidence, MapChecksum, MapCounter, MapFrame, MapSelector, When } from '../map/schema.ts';
import { placeName } from './describe.ts';
import { placeWords } from './place-words.ts';
import type { Disagreement, Explained, FoundInstead, FrameFindings, HandDecision } from './types.ts';

type Guards = Pick<FrameFindings, 'counters' | 'checksums'>;
type Around = Pick<MapFrame, 'counters' | 'selectors'>;
/** Frames in which a rule holds, of those it can be held against. */
export interface Held {
  readonly passed: number;
  readonly checked: number;
}

const NOT_COMPUTABLE: Held = { passed: 0, checked: 0 };
const PAIRS_FOR_A_PERIOD = 3;

function heldByCounter(rule: MapCounter, selectors: readonly MapSelector[], stream: Stream): Held {
  const { raws, timeUs } = valuesOnPage(compileGuard(rule, selectors), stream);
  const between = timeUs.subarray(1).map((at, row) => at - (timeUs[row] as number));
  const periodUs = between.length >= PAIRS_FOR_A_PERIOD ? median(between) : null;
  const { pairs, continued } = checkContinuity(rule, raws, { timeUs, periodUs });
  return { passed: continued, checked: pairs };
}

/** In the shape of the map, with the figures and the reason; how sure it is follows what chance would not have made hold. */
function kept<Rule extends MapCounter | MapChecksum>(rule: Rule, { passed, checked }: Held, byChance: number) {
  const share = passed / (checked + 1);
  const confidence = Math.round(100 * Math.max(0, (share - byChance) / (1 - byChance))) / 100;
  const evidence: Evidence[] = [{ kind: 'by-hand', passed, checked }];
  const why =
    checked === 0
      ? 'Set by hand. No frame could be held against it.'
      : `Set by hand: it holds in ${grouped(passed)} of ${grouped(checked)} frames.`;
  return { ...rule, confidence: Math.min(0.99, confidence), evidence, why };
}

/** As the finders name counters: by the place. */
const named = (counter: MapCounter): MapCounter => ({ ...counter, name: `counter_${placeName(counter as Placement)}` });

const isRule = ({ kind }: HandDecision): boolean => kind === 'rule';
export const rulesIn = (decisions: readonly HandDecision[]): readonly HandDecision[] => decisions.filter(isRule);

const ownOf = ({ counter, checksum }: HandDecision): MapCounter | MapChecksum | undefined => counter ?? checksum;

/** What was found, without what lies on the bits of a rule of the same page: elsewhere those bits are others'. */
function cleared<Item extends object>(items: readonly Item[], rules: readonly HandDecision[]): Item[] {
  return items.filter((item) => {
    const bits = new Set(bitPositions(item as Placement));
    return !rules.some(
      (rule) =>
        canCoincide(ownOf(rule)?.when, (item as { when?: When }).when) &&
        bitPositions(rule.placement).some((bit) => bits.has(bit)),
    );
  });
}

/** What was found, with the rules set by hand behind it. A checksum's tables are picked by the first counter. */
export function withHandRules<Parts extends Guards & Pick<FrameFindings, 'selectors' | 'fields'>>(
  parts: Parts,
  decisions: readonly HandDecision[],
  stream: Stream,
): Parts {
  const rules = rulesIn(decisions);
  if (rules.length === 0) return parts;
  const selectors = [...parts.selectors];
  const byHand = rules.flatMap(({ counter }) =>
    counter
      ? [kept(named(counter), heldByCounter(counter, selectors, stream), 1 / (counter.max - counter.min + 1))]
      : [],
  );
  const counters = [...cleared(parts.counters, rules), ...byHand];
  const around: Around = { counters, selectors };
  const checksums = rules.flatMap(({ checksum }) => {
    if (!checksum) return [];
    const held = verifyChecksum(checksum, around, stream) ?? NOT_COMPUTABLE;
    return [kept(checksum, held, 2 ** -bitPositions(checksum as Placement).length)];
  });
  const rest = { checksums: cleared(parts.checksums, rules), fields: cleared(parts.fields, rules) };
  return { ...parts, ...rest, counters, checksums: [...rest.checksums, ...checksums] };
}

const bitsOf = (placement: object): string => bitPositions(placement as Placement).join();

/** Whether two rules ask the same of every payload of the stream. */
function saysTheSame(a: MapChecksum, b: MapChecksum, around: Around, stream: Stream): boolean {
  const [one, other] = [compileChecksum(a, around), compileChecksum(b, around)];
  if (!one || !other) return a.method === b.method && !one && !other;
  for (let row = 0; row < stream.count; row++) {
    const [offset, length] = [row * stream.stride, lengthAt(stream, row)];
    if (String(one(stream.payload, offset, length)) !== String(other(stream.payload, offset, length))) return false;
  }
  return true;
}

const countsTheSame = (a: MapCounter, b: MapCounter): boolean =>
  a.step === b.step && a.every === b.every && a.min === b.min && a.max === b.max;

/** The finders' own rule on the very bits; null where they have none there. */
function rivalOf(
  decision: HandDecision,
  found: Guards,
): { readonly rule: Explained<MapChecksum | MapCounter>; readonly what: 'counter' | 'checksum' } | null {
  const own = ownOf(decision) as MapCounter;
  const fits = (one: { when?: When }): boolean =>
    bitsOf(one) === bitsOf(decision.placement) && isSameWhen(one.when, own.when);
  const checksum = found.checksums.find(fits);
  if (checksum) return { rule: checksum, what: 'checksum' };
  const counter = found.counters.find(fits);
  return counter ? { rule: counter, what: 'counter' } : null;
}

/**
 * Where the finders, left to themselves, have another rule on the bits of a rule set by hand, or something else there.
 * @param instead what they have on any of these bits
 */
export function ruleDisagreement(
  decision: HandDecision,
  found: Guards & Pick<FrameFindings, 'selectors'>,
  instead: readonly FoundInstead[],
  stream: Stream,
): Disagreement | null {
  const { checksum, counter } = decision;
  const rival = rivalOf(decision, found);
  const around = { counters: [...found.counters], selectors: [...found.selectors] };
  const agrees =
    rival &&
    (checksum
      ? rival.what === 'checksum' && saysTheSame(checksum, rival.rule as MapChecksum, around, stream)
      : counter && rival.what === 'counter' && countsTheSame(counter, rival.rule as MapCounter));
  if (agrees) return null;
  const places = instead.map((one) => `the ${one.what} ${placeWords(one)}`).join(', ');
  const words = rival
    ? `Left to themselves the finders have another rule here, as a ${rival.what}. ${rival.rule.why}`
    : instead.length > 0
      ? `Left to themselves the finders have ${places} here.`
      : 'Left to themselves the finders have no guard here.';
  return { ...decision, instead, moreBits: null, words };
}

/** Rules set by hand, with the finders' own view beside: what they have there in the evidence, words in the reason. */
export function withRuleDisagreements<Parts extends Guards>(parts: Parts, all: readonly Disagreement[]): Parts {
  const differing = all.filter(isRule);
  if (differing.length === 0) return parts;
  const told = <Guard extends Guards['counters'][number] | Guards['checksums'][number]>(guard: Guard): Guard => {
    const own = differing.find(
      (one) => isByHand(guard) && bitsOf(one.placement) === bitsOf(guard) && isSameWhen(ownOf(one)?.when, guard.when),
    );
    if (!own) return guard;
    const evidence = (guard['evidence'] as Evidence[]).map((one) => ({ ...one, instead: [...own.instead] }));
    return { ...guard, evidence, why: `${guard.why} ${own.words}` };
  };
  return { ...parts, counters: parts.counters.map(told), checksums: parts.checksums.map(told) };
}

/** What was found, without the guards that a person refused. */
export function withoutRefused<Guard extends object>(
  guards: readonly Guard[],
  decisions: readonly HandDecision[],
): Guard[] {
  const refused = new Set(decisions.filter(({ kind }) => kind === 'refused').map(({ placement }) => bitsOf(placement)));
  return guards.filter((guard) => !refused.has(bitsOf(guard)));
}

/** Places that a person fixed on all pages: fields, and rules that belong to no page. */
export const fixedPlaces = (decisions: readonly HandDecision[]): readonly Placement[] =>
  decisions.filter((each) => each.kind !== 'refused' && !ownOf(each)?.when).map(({ placement }) => placement);
