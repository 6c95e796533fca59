/**
 * Guards over bytes that rest in one recording and move in another of the same vehicle, for the scorecard of "before you cut it up": are those bytes said
 * to be open? Of the demo's vehicles the recording that is proposed is made as well; vehicles of other makers stand, and then drive, without anybody's cards.
 */
import { vehicleFor } from '../../src/demo/vehicle.ts';
import type { TrueFrame } from '../../src/demo/true-frame.ts';
import { findFields } from '../../src/fields/find.ts';
import { bitPositions } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import { guardNeeds } from '../../src/proof/suffices/guard-needs.ts';
import { nextRecordings } from '../../src/proof/suffices/next.ts';
import { whatSuffices } from '../../src/proof/suffices/suffices.ts';
import type { Identifier, Need } from '../../src/proof/suffices/types.ts';
import { formatId } from '../../src/kit/units.ts';
import type { SurveyFrame } from '../../src/timing/types.ts';
import type { KnownDrive } from './fields-truth.ts';
import { movedBits } from './stream-bits.ts';
import { askedOf, record, recordCard, restingScript, wholeScript, type Recorded } from './suffices-cases.ts';
import { tellWrong, type Scores } from './suffices-score.ts';
import { streamKey, valueBits } from './suffices-truth.ts';

const FRAMES_LEAST = 100;
const RULE_SURE = 0.8;
const GUARDS_MOST = 3;

interface Frozen {
  readonly at: Identifier;
  readonly key: string;
  /** Value bits of bytes that rest in the one recording and move in the other. */
  readonly bits: readonly number[];
}

/** Of bits of values, those of bytes that rest in the one and move in the other; none where either is too short to say. */
function frozenBits(values: readonly number[], rests: Stream | undefined, moves: Stream | undefined): number[] {
  if (!rests || !moves || rests.count < FRAMES_LEAST || moves.count < FRAMES_LEAST) return [];
  const restless = new Set([...movedBits(rests)].map((bit) => bit >> 3));
  const moved = movedBits(moves);
  return values.filter((bit) => moved.has(bit) && !restless.has(bit >> 3));
}

function frozenGuards(rests: Recorded, moves: Recorded): Frozen[] {
  const streamOf = ({ table }: Recorded, key: string): Stream | undefined =>
    table.streams.find((each) => streamKey(each) === key);
  return rests.vehicle.frames.flatMap(({ map, id, extended, diagnostic }: TrueFrame): Frozen[] => {
    const key = streamKey({ bus: map.bus, id, extended });
    const isSolvable = map.checksums.some(({ method }) => method === 'crc' || method === 'sum' || method === 'xor');
    if (!isSolvable || diagnostic !== null) return [];
    const bits = frozenBits(valueBits(map), streamOf(rests, key), streamOf(moves, key));
    return bits.length > 0 ? [{ at: { bus: map.bus, id: map.id, extended }, key, bits }] : [];
  });
}

const isSame = (a: Identifier | undefined, b: Identifier): boolean =>
  a?.bus === b.bus && a.id === b.id && a.extended === b.extended;
const isOf = (need: Need, { at }: Frozen): boolean => need.what === 'guard' && isSame(need.at, at);

/**
 * Whether the frozen bits are said to be open: one by one, all where the rule itself is said to be short, or the whole identifier where it is said that
 * nothing can be known of a guard of it.
 */
const namesFrozen = (need: Need, frozen: Frozen): boolean =>
  need.verdict !== 'enough' &&
  ((isOf(need, frozen) && (need.verdict === 'short' || frozen.bits.every((bit) => need.bits?.includes(bit)))) ||
    (need.identifiers ?? []).some((one) => isSame(one, frozen.at)));

function tellNotNamed(name: string, needs: readonly Need[], frozen: Frozen): void {
  const own = needs.filter((need) => isOf(need, frozen)).map(({ verdict, says }) => `${verdict} ${says}`);
  tellWrong(`not named (${name}, ${frozen.key}): ${own.join('; ') || 'no guard found'}`);
}

/** Of the frozen bytes, those that none of the recordings proposed shows the rule to cover; some moved bit of a byte shows it. */
async function bytesLeft({ vehicle, marks }: Recorded, need: Need, frozen: Frozen, seed: number): Promise<number[]> {
  const open = new Set(frozen.bits.map((bit) => bit >> 3));
  for (const { card } of nextRecordings([need], marks, 'drive')) {
    const again = whatSuffices(await askedOf(recordCard(vehicle, card, seed), { guardsOf: [frozen.key] }));
    for (const { bits = [], figures } of again.needs.filter((each) => isOf(each, frozen)))
      if ((figures['confidence'] ?? 0) >= RULE_SURE)
        for (const bit of frozen.bits) if (!bits.includes(bit)) open.delete(bit >> 3);
  }
  return [...open];
}

export async function judgeGuards(seed: number, scores: Scores): Promise<void> {
  const score = scores.of('guard with frozen bits');
  const vehicle = vehicleFor('guarded', seed);
  const [rests, moves] = [record(vehicle, restingScript(seed)), record(vehicle, wholeScript(seed))];
  for (const frozen of frozenGuards(rests, moves).slice(0, GUARDS_MOST)) {
    score.planted++;
    const { needs } = whatSuffices(await askedOf(rests, { guardsOf: [frozen.key] }));
    const named = needs.find((need) => namesFrozen(need, frozen));
    if (!named) {
      tellNotNamed(String(seed), needs, frozen);
      continue;
    }
    score.named++;
    score.proposed++;
    const left = await bytesLeft(rests, named, frozen, seed + 17);
    if (left.length === 0) score.settled++;
    else tellWrong(`not settled (${seed}, ${frozen.key}): bytes ${left.join(', ')}; ${named.says}`);
  }
}

function distinctPayloads({ payload, stride, count }: Stream): number {
  const seen = new Set<string>();
  for (let row = 0; row < count; row++) seen.add(payload.subarray(row * stride, (row + 1) * stride).join(' '));
  return seen.size;
}

/** As much of the survey as guards are asked by. */
const surveyed = (stream: Stream): SurveyFrame =>
  ({
    ...stream,
    id: formatId(stream.id),
    length: stream.stride,
    distinctPayloads: distinctPayloads(stream),
  }) as unknown as SurveyFrame;

/** Guards of another maker's vehicle that stood, and drove afterwards. */
export async function judgeStanding(drive: KnownDrive, maker: string, scores: Scores): Promise<void> {
  const score = scores.of(`guard with frozen bits, ${maker}`);
  const later = drive.again();
  let judged = 0;
  for (const [index, { frame, stream }] of drive.streams.entries()) {
    if (judged === GUARDS_MOST || !frame.checksums.some(({ kind }) => kind === 'rule')) continue;
    const values = frame.fields.flatMap(({ place }) => bitPositions(place));
    const at = { bus: stream.bus, id: formatId(stream.id), extended: stream.extended };
    const frozen: Frozen = { at, key: streamKey(stream), bits: frozenBits(values, stream, later[index]?.stream) };
    if (frozen.bits.length === 0) continue;
    judged++;
    score.planted++;
    const needs = guardNeeds(await findFields([stream], {}, {}), { frames: [surveyed(stream)] });
    if (needs.some((need) => namesFrozen(need, frozen))) score.named++;
    else tellNotNamed(drive.name, needs, frozen);
  }
}
