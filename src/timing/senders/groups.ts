/**
 * Which identifiers one module sends, from their clocks: pairwise drift over the same minutes and the phase within a task's tick as
 * log-likelihood ratios of one clock against two, joined cluster by cluster. Who is not surely of a group stays
 * alone, and the reason is given. Letters go by bus, then by the frames that a group sends each second; gateways' copies come last.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { formatId } from '../../kit/units.ts';
import { busFrames, type BusFrames } from '../bus-frames.ts';
import { FINE_STEP_US, followClock, type FollowedClock, type Recorded } from './clock-reading.ts';
import type { ClockTrack } from './clock-track.ts';
import { readClocksCoarsely } from './coarse-clocks.ts';
import { readClocksFinely } from './fine-clocks.ts';
import { findGroups, type FoundGroup, type FoundMember } from './confidence.ts';
import { findCopies, type CopyFinding } from './copies.ts';
import { takeUntold } from './copy-direction.ts';
import { relayedGroups } from './relayed-groups.ts';
import { countNeighbours } from './neighbours.ts';
import { besideWords } from './beside-words.ts';
import { besideClocks, type Beside, type Hints } from './shared-moments.ts';
import { sumPairs } from './pair-sums.ts';
import { median } from '../robust.ts';
import type { Skew } from './skew.ts';
import type { SurveyFrame } from '../types.ts';

export interface StreamSender {
  readonly stream: Stream;
  readonly group: string | null;
  /** That the membership is right; null without a group. */
  readonly confidence: number | null;
  readonly skew: Skew | null;
  /** What its clock was read from; null where it does not show. */
  readonly track: ClockTrack | null;
  readonly copy: CopyFinding | null;
  /** For a person, with figures. */
  readonly why: string;
}

export interface SenderGroup {
  readonly letter: string;
  readonly members: readonly StreamSender[];
  /** Against the median group; null where there is but one, and for a gateway's copies. */
  readonly skewPpm: number | null;
  /** Set where another thing than a clock holds it together. */
  readonly why?: string;
}

export interface Senders {
  /** In the order of the table's streams. */
  readonly streams: readonly StreamSender[];
  readonly groups: readonly SenderGroup[];
}

/** A, B, ... Z, AA, AB, ... */
export function groupLetter(place: number): string {
  const last = String.fromCharCode(65 + (place % 26));
  return place < 26 ? last : groupLetter(Math.floor(place / 26) - 1) + last;
}

/** A member with what spoke for it or against it beside clocks, in words; '' where clocks decided. */
interface ToldMember extends FoundMember {
  readonly beside: string;
}

type ToldGroup = FoundGroup<ToldMember>;

function toldGroup({ members }: FoundGroup, beside: Beside): ToldGroup {
  const places = members.map(({ place }) => place);
  return {
    members: members.map((member) => {
      const others = places.filter((place) => place !== member.place);
      return { ...member, beside: besideWords(beside, { place: member.place, others }, member) };
    }),
  };
}

const framesOf = ({ members }: FoundGroup): number =>
  members.reduce((sum, { reading }) => sum + 1e6 / reading.track.nominalUs, 0);

/** The bus on which it sends most. */
function mainBus({ members }: FoundGroup, buses: readonly string[]): number {
  const rates = buses.map((bus) => framesOf({ members: members.filter(({ reading }) => reading.stream.bus === bus) }));
  return rates.indexOf(Math.max(...rates));
}

const inOrder = (groups: readonly ToldGroup[], buses: readonly string[]): ToldGroup[] =>
  [...groups].sort((a, b) => mainBus(a, buses) - mainBus(b, buses) || framesOf(b) - framesOf(a));

const rateOf = ({ members }: FoundGroup): number =>
  median(Float64Array.from(members, ({ reading }) => reading.skew.lowerHull.ppm));

const showPpm = (ppm: number): string => `${ppm >= 0 ? '+' : ''}${ppm.toFixed(2)} ppm`;

function clockWords({ lowerHull, leastSquares, agree }: Skew): string {
  const both = `clock ${showPpm(lowerHull.ppm)} (lower hull, se ${lowerHull.se.toFixed(2)}), ${showPpm(leastSquares.ppm)} (least squares, se ${leastSquares.se.toFixed(2)})`;
  return agree ? both : `${both}: the two disagree`;
}

function letterGroup(found: ToldGroup, letter: string, skewPpm: number | null): SenderGroup {
  const members = found.members.map(({ reading, confidence, beside }): StreamSender => ({
    stream: reading.stream,
    group: letter,
    confidence: Number(confidence.toFixed(3)),
    skew: reading.skew,
    track: reading.track,
    copy: null,
    why: `keeps time with the ${found.members.length - 1} others of its group; ${beside === '' ? '' : `${beside}; `}${clockWords(reading.skew)}`,
  }));
  return { letter, members, skewPpm };
}

function lettered(groups: readonly ToldGroup[], buses: readonly string[]): SenderGroup[] {
  const rates = groups.map(rateOf);
  const middle = median(Float64Array.from(rates));
  return groups.length === 0
    ? []
    : inOrder(groups, buses).map((found, place) => {
        const skewPpm = groups.length < 2 ? null : Number((rateOf(found) - middle).toFixed(3));
        return letterGroup(found, groupLetter(place), skewPpm);
      });
}

function alone(stream: Stream, why: string, copy: CopyFinding | null = null): StreamSender {
  return { stream, group: null, confidence: null, skew: null, track: null, copy, why };
}

const copyWords = ({ original, delayUs, share, looked }: CopyFinding): string =>
  `a gateway's copy from ${original.bus}: ${Math.round(100 * share)} % of ${looked} payloads came there ${(delayUs / 1000).toFixed(2)} ms before; its clock is the original's sender's, not the gateway's`;

const untoldWords = ({ bus, id }: Stream): string =>
  `${formatId(id)} of ${bus} has the same payloads, within the error of the two loggers' clocks: direction not told, nor which is the copy`;

const ALONE = 'no other identifier keeps time with it surely enough';

interface Judged {
  readonly groups: readonly ToldGroup[];
  /** Streams that show no clock of their sender's, and why. */
  readonly aside: ReadonlyMap<Stream, string>;
}

/** By fine stamps or coarse ones, and what order adds. */
function* judgeClocks(
  table: FrameTable,
  firsts: readonly FollowedClock[],
  buses: readonly BusFrames[],
  recorded: Recorded,
  hints: Hints | undefined,
): Steps<Judged> {
  const isFine = recorded.stepUs <= FINE_STEP_US;
  const { readings, aside } = isFine
    ? yield* readClocksFinely(table, firsts, buses, recorded)
    : { readings: yield* readClocksCoarsely(table, firsts, buses, recorded), aside: new Map<Stream, string>() };
  const streams = readings.map(({ stream }) => stream);
  const neighbours = yield* countNeighbours(streams, buses, table.endUs);
  const beside = yield* besideClocks(readings, recorded, hints);
  const sums = yield* sumPairs(readings, neighbours, recorded, beside.evidence);
  return { groups: findGroups(readings, sums, recorded).map((found) => toldGroup(found, beside)), aside };
}

/** Copies by the gateway that sends them, with the letters that come next. */
function gatewayGroups(copies: ReadonlyMap<Stream, CopyFinding>, lettersUsed: number): SenderGroup[] {
  return relayedGroups(copies).map(({ from, to, copies: each }, place) => {
    const letter = groupLetter(lettersUsed + place);
    const members = each.map(({ stream, copy, confidence }): StreamSender => ({
      ...alone(stream, `${copyWords(copy)}; the ${each.length} copies onto ${to} are one gateway's`, copy),
      group: letter,
      confidence,
    }));
    const why = `${each.length} identifiers that a gateway copies from ${from} to ${to}; whether it sends one of the other groups too does not show`;
    return { letter, members, skewPpm: null, why };
  });
}

/** Streams that one logger's clock stamped, each clock's apart: nothing is said across two clocks that are not aligned. */
function byClock(streams: readonly Stream[], { clockOf }: Recorded): Stream[][] {
  const clocks = new Set(streams.map(({ bus }) => clockOf.get(bus) ?? 0));
  return [...clocks].map((clock) => streams.filter(({ bus }) => (clockOf.get(bus) ?? 0) === clock));
}

/**
 * @param rows the survey's, in the order of the table's streams
 * @param hints what guards have for parameters, where that is known: rare ones in common speak for one module
 * Cost: O(frames) and a bounded sum for each pair of periodic identifiers.
 */
export function* groupSenders(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  recorded: Recorded,
  hints?: Hints,
): Steps<Senders> {
  const hasClock = table.origin.kind !== 'none';
  const clocks = byClock(table.streams, recorded);
  const copies = new Map<Stream, CopyFinding>();
  if (hasClock) for (const streams of clocks) for (const each of yield* findCopies(streams)) copies.set(...each);
  const untold = takeUntold(table, copies);
  const senders = new Map<Stream, StreamSender>();
  const firsts: FollowedClock[] = [];
  for (const [at, stream] of table.streams.entries()) {
    const copy = copies.get(stream);
    if (stream.direction === 'sent') senders.set(stream, alone(stream, 'sent by the logger'));
    else if (!hasClock) senders.set(stream, alone(stream, 'without stamps no clock shows'));
    else if (copy) senders.set(stream, alone(stream, copyWords(copy), copy));
    else {
      const reading = yield* followClock(stream, rows[at] as SurveyFrame, recorded);
      if ('why' in reading) senders.set(stream, alone(stream, reading.why));
      else {
        firsts.push(reading.first);
        const { skew, track } = reading.first;
        senders.set(stream, { ...alone(stream, `${ALONE}; ${clockWords(skew)}`), skew, track });
      }
    }
    yield;
  }
  const found: ToldGroup[] = [];
  const buses = firsts.length > 0 ? (recorded.buses ?? (yield* busFrames(table))) : [];
  for (const streams of clocks) {
    const own = firsts.filter(({ stream }) => streams.includes(stream));
    if (own.length === 0) continue;
    const { groups, aside } = yield* judgeClocks(table, own, buses, recorded, hints);
    found.push(...groups);
    for (const [stream, why] of aside) senders.set(stream, alone(stream, why));
  }
  const clocked = lettered(found, table.buses);
  const groups = [...clocked, ...gatewayGroups(copies, clocked.length)];
  for (const { members } of groups) for (const member of members) senders.set(member.stream, member);
  for (const [stream, other] of untold) {
    const sender = senders.get(stream) as StreamSender;
    senders.set(stream, { ...sender, why: `${sender.why}; ${untoldWords(other)}` });
  }
  return { streams: table.streams.map((stream) => senders.get(stream) as StreamSender), groups };
}
