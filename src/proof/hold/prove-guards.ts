/** Whether counters go on, checksums agree and selectors show known pages. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { Stream } from '../../frames/table.ts';
import { verifyChecksum } from '../../map/checksum.ts';
import { checkContinuity, compileStepsBetween, counterModulus, type CounterContinuity } from '../../map/counter.ts';
import type { CompiledFrame, CompiledGuard } from '../../map/decode.ts';
import { valuesOnPage } from '../../map/page-values.ts';
import { bigOf, writtenRaw } from '../../map/raw-values.ts';
import type { MapChecksum, MapCounter, MapFrame } from '../../map/schema.ts';
import type { SurveyFrame } from '../../timing/types.ts';
import { momentsOf } from './moments.ts';
import type { Silences } from './silences.ts';
import * as limit from './thresholds.ts';
import type { ProofItem, ProofVerdict } from './types.ts';

/** The usual interval tells lost frames from jumps; pages have none of their own. */
export const periodUsOf = (counter: Pick<MapCounter, 'when'>, surveyed: SurveyFrame): number | null =>
  counter.when === null && ['periodic', 'mixed'].includes(surveyed.timing.kind)
    ? (surveyed.timing.periodMs ?? 0) * 1000 || null
    : null;

/** A value of its range that a small counter passed over at each of many turns; null where there is none or it cannot be told. */
function neverSeen(rule: MapCounter, raws: Float64Array, turn: number): number | null {
  const modulus = counterModulus(rule);
  if (modulus > limit.TURN_EXPECTED_UP_TO || raws.length < limit.TURNS_SHOW_ALL * turn) return null;
  if (compileStepsBetween(rule).cycle < modulus) return null;
  const seen = new Set(raws);
  for (let value = rule.min; value <= rule.max; value++) if (!seen.has(value)) return value;
  return null;
}

/** One break may be a module that started anew; a wrong rule breaks at each turn. */
function counterVerdict(
  { continued, outOfRange, pairs }: Pick<CounterContinuity, 'continued' | 'outOfRange' | 'pairs'>,
  turned: boolean,
): ProofVerdict {
  if (pairs < limit.PAIRS_NEEDED) return 'not-exercised';
  const broken = pairs - continued;
  if ((broken > 1 && broken > (1 - limit.COUNTER_HOLDS) * pairs) || outOfRange > 0.001 * pairs) return 'fails';
  return turned ? 'holds' : 'not-exercised';
}

/** Whether nearly all breaks lead from one value to one other, again and again: so does a rule that turns elsewhere. */
function breaksAlike(breaks: readonly number[], raws: Float64Array): boolean {
  const times = new Map<string, number>();
  for (const at of breaks) {
    const step = `${raws[at - 1]} ${raws[at]}`;
    times.set(step, (times.get(step) ?? 0) + 1);
  }
  const most = Math.max(0, ...times.values());
  return most >= limit.BREAKS_ALIKE && most >= limit.BREAKS_ALIKE_SHARE * breaks.length;
}

/** Breaks behind a silence that others share, or after which the counter begins anew: no step of the rule is seen there. */
function startsAnew({ rule, raws, timeUs, periodUs, stream, silences }: Steps, at: number): boolean {
  const [fromUs, toUs] = [timeUs[at - 1] as number, timeUs[at] as number];
  if (periodUs === null || toUs - fromUs <= limit.SILENT_PERIODS * periodUs) return false;
  return raws[at] === rule.min || silences.sharedBy(stream, fromUs, toUs);
}

interface Steps {
  readonly rule: MapCounter;
  readonly raws: Float64Array;
  readonly timeUs: Float64Array;
  readonly periodUs: number | null;
  readonly stream: Stream;
  readonly silences: Silences;
}

function proveCounter(
  guard: CompiledGuard<MapCounter>,
  stream: Stream,
  surveyed: SurveyFrame,
  silences: Silences,
): ProofItem {
  const { rule } = guard;
  const { rows, raws, timeUs } = valuesOnPage(guard, stream);
  const periodUs = periodUsOf(rule, surveyed);
  const all = checkContinuity(rule, raws, { timeUs, periodUs });
  const steps: Steps = { rule, raws, timeUs, periodUs, stream, silences };
  const breaks = all.breaks.filter((at) => !startsAnew(steps, at));
  const anew = all.breaks.length - breaks.length;
  const result = { ...all, breaks, pairs: all.pairs - anew };
  const turn = counterModulus(rule) <= 65_536 ? compileStepsBetween(rule).cycle * rule.every : Infinity;
  const small = counterModulus(rule) <= limit.TURN_EXPECTED_UP_TO;
  const turned = !small || result.pairs >= 2 * turn;
  const rate = result.pairs > 0 ? result.continued / result.pairs : null;
  const missing = neverSeen(rule, raws, turn);
  const judged = counterVerdict(result, turned);
  const isElsewhere = missing !== null || breaksAlike(breaks, raws);
  const verdict = isElsewhere && judged === 'holds' ? 'fails' : judged;
  const notes = [
    `${result.continued} of ${result.pairs} steps go on`,
    result.lost > 0 && `${result.lost} frames lost by the log`,
    breaks.length > 0 && `${result.repeated} repeated, ${result.jumped} jumped`,
    anew > 0 && `${anew} began anew behind a silence`,
    result.outOfRange > 0 && `${result.outOfRange} outside ${rule.min}..${rule.max}`,
    missing !== null && `${missing} never came in ${Math.floor(raws.length / turn)} turns`,
    result.pairs < 2 * turn && 'its turnover was not seen twice',
  ];
  return {
    item: 'counter',
    name: rule.name,
    verdict,
    rate,
    n: result.pairs,
    detail: notes.filter(Boolean).join(', '),
    moments: momentsOf(
      stream,
      result.breaks.map((i) => rows[i] as number),
    ),
  };
}

export const proveCounters = (
  compiled: CompiledFrame,
  stream: Stream,
  surveyed: SurveyFrame,
  silences: Silences,
): ProofItem[] => compiled.counters.map((counter) => proveCounter(counter, stream, surveyed, silences));

/** Different payloads, counted until there are enough. @param seen those of the frames before, added to */
export function distinctPayloads(stream: Stream, enough: number, seen = new Set<string>()): number {
  for (let row = 0; row < stream.count && seen.size < enough; row++) {
    seen.add(stream.payload.subarray(row * stream.stride, (row + 1) * stream.stride).join());
  }
  return seen.size;
}

const placeOf = ({ lsb, length, method }: MapChecksum): string =>
  `${method} at byte ${lsb.byte} bit ${lsb.bit}, ${length} bits`;

function proveChecksum(checksum: MapChecksum, frame: MapFrame, stream: Stream): ProofItem {
  const base = { item: 'checksum' as const, name: placeOf(checksum) };
  const result = verifyChecksum(checksum, frame, stream);
  if (!result) {
    const detail = `a checksum of method "${checksum.method}" cannot be computed`;
    return { ...base, verdict: 'not-exercised', rate: null, n: 0, detail, moments: [] };
  }
  const rate = result.checked > 0 ? result.passed / result.checked : null;
  const distinct = distinctPayloads(stream, limit.DISTINCT_PAYLOADS_NEEDED);
  const varied = distinct >= limit.DISTINCT_PAYLOADS_NEEDED;
  const agrees = rate !== null && rate >= limit.CHECKSUM_HOLDS;
  const verdict = rate === null || (agrees && !varied) ? 'not-exercised' : agrees ? 'holds' : 'fails';
  const notes = [
    `${result.passed} of ${result.checked} frames agree`,
    result.unchecked > 0 && `${result.unchecked} could not be checked`,
    !varied && `only ${distinct} different payloads`,
  ];
  const detail = notes.filter(Boolean).join(', ');
  return { ...base, verdict, rate, n: result.checked, detail, moments: momentsOf(stream, result.failures) };
}

export const proveChecksums = ({ frame }: CompiledFrame, stream: Stream): ProofItem[] =>
  frame.checksums.map((checksum) => proveChecksum(checksum, frame, stream));

/** Raw values that the map's layouts name for a selector. */
function knownValues(name: string, frame: MapFrame): Set<number> {
  const whens = [...frame.signals, ...frame.counters, ...frame.checksums, ...frame.selectors].map(
    ({ when }) => when?.[name] ?? [],
  );
  return new Set(whens.flat());
}

/** Bytes of each frame without what selectors and guards put there. */
function contentMask({ selectors, counters, checksums }: MapFrame, stride: number): Uint8Array {
  const mask = new Uint8Array(stride).fill(0xff);
  for (const at of [...selectors, ...counters, ...checksums].flatMap((own) => bitPositions(own as Placement)))
    mask[at >> 3] = (mask[at >> 3] as number) & ~(1 << (at & 7));
  return mask;
}

/** Pages that the map does not know and on which nothing ever moves: there is nothing on them to know. */
function emptyPages(
  strange: readonly number[],
  raws: ArrayLike<number>,
  rows: ArrayLike<number>,
  frame: MapFrame,
  stream: Stream,
): Set<number> {
  const mask = contentMask(frame, stream.stride);
  const contents = new Map<number, Set<string>>();
  for (const i of strange) {
    const at = (rows[i] as number) * stream.stride;
    const page = contents.get(raws[i] as number) ?? new Set();
    const bytes = stream.payload.subarray(at, at + stream.stride).map((byte, k) => byte & (mask[k] as number));
    contents.set(raws[i] as number, page.add(bytes.join()));
  }
  return new Set([...contents].filter(([, content]) => content.size === 1).map(([page]) => page));
}

export function proveSelectors(compiled: CompiledFrame, stream: Stream): ProofItem[] {
  return compiled.selectors.map((selector) => {
    const { name } = selector.rule;
    const { rows, raws } = valuesOnPage(selector, stream);
    const known = knownValues(name, compiled.frame);
    const seen = new Set(raws);
    const unnamed = [...rows.keys()].filter((i) => !known.has(raws[i] as number));
    const empty = emptyPages(unnamed, raws, rows, compiled.frame, stream);
    const strange = unnamed.filter((i) => !empty.has(raws[i] as number));
    const rate = raws.length > 0 ? 1 - strange.length / raws.length : null;
    const untested = rate === null || known.size === 0 || raws.length < limit.VALUES_NEEDED || seen.size < 2;
    const missing = [...known].filter((value) => !seen.has(value));
    const unknown = [...seen]
      .filter((value) => !known.has(value) && !empty.has(value))
      .map((value) => writtenRaw(bigOf(value)));
    const notes = [
      `${seen.size} values seen`,
      missing.length > 0 && `not seen: ${missing.slice(0, 12).join(', ')}`,
      empty.size > 0 && `nothing moves on ${[...empty].slice(0, 12).join(', ')}`,
      unknown.length > 0 && `not in the map: ${unknown.slice(0, 12).join(', ')}`,
    ];
    return {
      item: 'selector' as const,
      name,
      verdict: untested ? 'not-exercised' : rate >= limit.VALUES_HOLD ? 'holds' : 'fails',
      rate: untested ? null : rate,
      n: raws.length,
      detail: notes.filter(Boolean).join('; '),
      moments: momentsOf(
        stream,
        strange.slice(0, 20).map((i) => rows[i] as number),
      ),
    };
  });
}
