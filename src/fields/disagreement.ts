/**
 * Where a person and the finders differ about bits. What the person decided stands; beside it is said what would have been found there, and by
 * how many bits the payloads take longer to write down as the person has them: the measure by which spans are chosen. Bits that a
 * counter, a checksum or a selector was found on are named, for a value placed across them changes what the guard covers.
 */
import { bitPositions, type Placement } from '../frames/bits.ts';
import type { Stream } from '../frames/table.ts';
import { grouped } from '../kit/figures.ts';
import { isByHand } from '../map/evidence.ts';
import type { When } from '../map/schema.ts';
import { placeName } from './describe.ts';
import { candidatesOf, leaveBitsOf, UNBIASED } from './divide.ts';
import { ruleDisagreement } from './hand-rules.ts';
import { hasBit, leftBy } from './mask.ts';
import { movedMask, sampleRows, thinRepeats, type PayloadRows } from './payload-rows.ts';
import { placeWords } from './place-words.ts';
import { segment } from './segment.ts';
import { pieceOf } from './span-candidate.ts';
import type { Steps } from './steps.ts';
import type { Disagreement, FieldFinding, FoundInstead, FrameFindings, HandDecision } from './types.ts';

type Found = Pick<FrameFindings, 'counters' | 'checksums' | 'selectors' | 'fields'>;
type Placed = Placement & { readonly when?: When };

const ROWS = 1600;
const placedBits = (placement: Placement): string => bitPositions(placement).join();

function sharing(items: readonly Placed[], what: FoundInstead['what'], own: ReadonlySet<number>): FoundInstead[] {
  return items
    .filter((item) => bitPositions(item).some((bit) => own.has(bit)))
    .map((item) => ({ what, place: placeName(item), lsb: item.lsb, length: item.length, order: item.order }));
}

/** What the finders have on these bits when nobody tells them otherwise. */
function foundOn(placement: Placement, found: Found): FoundInstead[] {
  const own = new Set(bitPositions(placement));
  return [
    ...sharing(found.counters as readonly Placed[], 'counter', own),
    ...sharing(found.checksums as readonly Placed[], 'checksum', own),
    ...sharing(found.selectors as readonly Placed[], 'selector', own),
    ...sharing(found.fields as readonly Placed[], 'field', own),
  ];
}

/** Bits of the placement from the lowest to the highest that moved. */
function movedBits(placement: Placement, free: Uint8Array): readonly number[] {
  const bits = bitPositions(placement);
  const low = bits.findIndex((at) => hasBit(free, at));
  return low < 0 ? [] : bits.slice(low, bits.findLastIndex((at) => hasBit(free, at)) + 1);
}

/** Bits by which a division with this very span takes more than the cheapest; null where such a span has no price. */
function* moreBits(rows: PayloadRows, placement: Placement, found: Found): Steps<number | null> {
  const guards = [...found.counters, ...found.checksums, ...found.selectors] as Placement[];
  const free = leftBy(movedMask(rows), guards);
  const usable = leftBy(new Uint8Array(rows.bytes).fill(0xff), guards);
  const bits = movedBits(placement, free);
  if (placement.continues?.length || bits.length === 0) return null;
  const sample = sampleRows(thinRepeats(rows, free), ROWS);
  const options = { orderBits: UNBIASED, refused: [], leaveBits: leaveBitsOf(sample) };
  const candidates = yield* candidatesOf(sample, usable, { ...options, free });
  const forced = candidates.find((candidate) => placedBits(pieceOf(candidate)) === bits.join());
  if (!forced) return null;
  const cheapest = segment(sample.bytes, candidates, { ...options, free });
  const rest = leftBy(free, [placement]);
  const own = new Set(bits);
  const beside = candidates.filter((candidate) => !bitPositions(pieceOf(candidate)).some((bit) => own.has(bit)));
  const without = segment(sample.bytes, beside, { ...options, free: rest });
  return Math.max(0, Math.round(without.bits + forced.price - cheapest.bits));
}

const listed = (items: readonly FoundInstead[]): string =>
  items.map((one) => `the ${one.what} ${placeWords(one)}`).join(', ');

function fieldWords(instead: readonly FoundInstead[], bits: number | null): string {
  const guards = instead.filter(({ what }) => what !== 'field');
  const fields = instead.filter(({ what }) => what === 'field');
  const cost =
    bits !== null && bits > 0
      ? ` As placed, a sample of the payloads takes ${grouped(bits)} bits more to write down.`
      : '';
  const crossing = guards.length > 0 ? `It crosses what was found as ${listed(guards)}.` : '';
  const division =
    fields.length > 0
      ? `Left to themselves the finders have ${listed(fields)} here.${cost}`
      : guards.length === 0
        ? `Left to themselves the finders have no field here.${cost}`
        : '';
  return [crossing, division].filter(Boolean).join(' ');
}

interface Payloads {
  readonly rows: PayloadRows;
  readonly stream: Stream;
}

function* judge(decision: HandDecision, { rows, stream }: Payloads, found: Found): Steps<Disagreement | null> {
  const { kind, placement } = decision;
  const instead = foundOn(placement, found);
  if (kind === 'rule') return ruleDisagreement(decision, found, instead, stream);
  const exactly = instead.length === 1 && placedBits(placement) === placedBits(instead[0] as unknown as Placement);
  if (kind === 'refused') {
    const kept = instead.filter((each) => placedBits(each as unknown as Placement) === placedBits(placement));
    const words = `Left to themselves the finders would take it as ${listed(kept)}.`;
    return kept.length > 0 ? { kind, placement, instead: kept, moreBits: null, words } : null;
  }
  // The same place is agreement, unless a guard was found there.
  if (exactly && instead[0]?.what === 'field') return null;
  const bits = found.selectors.length === 0 ? yield* moreBits(rows, placement, found) : null;
  return { kind, placement, instead, moreBits: bits, words: fieldWords(instead, bits) };
}

/** found: what the finders say of these rows of the stream with no decision given. */
export function* disagreementsOf(
  payloads: Payloads,
  decisions: readonly HandDecision[],
  found: Found,
): Steps<Disagreement[]> {
  const out: Disagreement[] = [];
  for (const decision of decisions) {
    const one = yield* judge(decision, payloads, found);
    if (one) out.push(one);
  }
  return out;
}

/** What was placed by hand, with the finders' own view beside the person's: figures in the evidence, words in the reason. */
export function withDisagreements(
  fields: readonly FieldFinding[],
  disagreements: readonly Disagreement[],
): readonly FieldFinding[] {
  return fields.map((field) => {
    const isPlaced = isByHand(field);
    const found = disagreements.find(
      ({ kind, placement }) => isPlaced && kind === 'field' && placedBits(placement) === placedBits(field),
    );
    if (!found) return field;
    const { instead, moreBits: bits, words } = found;
    const evidence = { kind: 'by-hand' as const, instead: [...instead], ...(bits === null ? {} : { moreBits: bits }) };
    return { ...field, evidence: [evidence], why: `${field.why} ${words}` };
  });
}
