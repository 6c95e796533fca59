/**
 * Which identifiers one module sends, from their clocks: pairwise drift over the same minutes and the phase within a task's tick as
 * log-likelihood ratios of one clock against two, joined cluster by cluster. Who is not surely of a group stays
 * alone, and the reason is given. Letters go by bus, then by the frames that a group sends each second.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import { trackClock, windowMiddlesS, type ClockTrack } from './clock-track.ts';
import { findCopies, type CopyFinding } from './copies.ts';
import { contrast, linkClusters, type Cluster, type PairSums } from './linkage.ts';
import { pairDrift, type ClockReading } from './pair-drift.ts';
import { median } from '../robust.ts';
import { phaseEvidence, sameClockEvidence, type ClockContrast } from './same-clock.ts';
import { estimateSkew, type Skew } from './skew.ts';
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
  /** Against the median group; null where there is but one. */
  readonly skewPpm: number | null;
}

export interface Senders {
  /** In the order of the table's streams. */
  readonly streams: readonly StreamSender[];
  readonly groups: readonly SenderGroup[];
}

/** Pairs between two steps. */
const PAIRS_A_STEP = 8;
/** Shorter readings part no clocks. */
const SPAN_LEAST_S = 20;
/** More scatter than this share of the period hides the phase. */
const JITTER_MAX = 0.1;
/** A member that is less sure than even is left alone. */
const CONFIDENCE_LEAST = 0.5;
/** Nothing is surer than this from one capture's clocks. */
const CONFIDENCE_MOST = 0.99;
/** Frames of one task keep a bus for about so long; a clock that strays by less hides behind it. */
const BURST_US = 500;
const CONFIDENCE_WITH_RIVAL = 0.85;
/** The mean wait for a frame under way: 135 bits at 500 kbit/s last 270 us, half of that is waited for (ISO 11898-1). */
const WAIT_US = 135;
const CONFIDENCE_UNTOLD = 0.45;
/** Identifiers that a module usually sends: for how likely two are of one module before anything is known (common practice, no source). */
const IDENTIFIERS_A_MODULE = 5;
const MODULES_LEAST = 4;
/** What is assumed of the spread of clocks, ppm, whatever a capture's few modules show. */
const SPREAD_PPM = [4, 30] as const;
/** Before any are told apart. */
const SPREAD_FIRST_PPM = 10;

interface Candidate extends ClockReading {
  readonly stream: Stream;
}

/** What is known of how the capture was recorded. */
export interface Recorded {
  /** What stamps are multiples of, or the distance of batches. */
  readonly stepUs: number;
  readonly endUs: number;
  /** By bus: when all of it fell silent, microseconds, ascending. */
  readonly pausesUs: ReadonlyMap<string, readonly number[]>;
}

type Reading = { readonly candidate: Candidate } | { readonly why: string };

function* readClock(stream: Stream, row: SurveyFrame, recorded: Recorded): Steps<Reading> {
  const { endUs, stepUs } = recorded;
  const { kind, periodMs, jitterMs, burst } = row.timing;
  if (kind !== 'periodic' || periodMs === null || burst)
    return { why: 'not sent on one period: its clock does not show' };
  if ((jitterMs ?? 0) > JITTER_MAX * periodMs && stepUs < 1000 * periodMs * JITTER_MAX) {
    return { why: 'its period is too loose to show a clock' };
  }
  const track = yield* trackClock(stream.timeUs, periodMs, endUs, recorded.pausesUs.get(stream.bus));
  if (!track)
    return { why: `a period of ${periodMs} ms is no round schedule: its clock cannot be held against others` };
  const skew = yield* estimateSkew(stream.timeUs, track, stepUs);
  if (!skew || skew.spanS < SPAN_LEAST_S)
    return { why: 'heard too shortly or too seldom without a break to show a clock' };
  return { candidate: { stream, track, skew } };
}

const firstUs = ({ stream, track }: Candidate): number => stream.timeUs[track.fromRow] as number;

/** All pairs held against each other. */
function* pairSums(candidates: readonly Candidate[], { endUs, stepUs }: Recorded): Steps<PairSums> {
  const n = candidates.length;
  const make = (): Float64Array => new Float64Array(n * n);
  const [weight, weighted, bendWeight, weightedBend, phase] = [make(), make(), make(), make(), make()];
  const middlesS = windowMiddlesS(endUs);
  for (let a = 0; a < n; a++) {
    for (let b = a + 1; b < n; b++) {
      const [one, other] = [candidates[a] as Candidate, candidates[b] as Candidate];
      const drift = pairDrift(one, other, firstUs(other) - firstUs(one), middlesS, stepUs);
      const [ab, ba] = [a * n + b, b * n + a];
      weight[ab] = weight[ba] = 1 / drift.se ** 2;
      weighted[ab] = drift.ppm / drift.se ** 2;
      weighted[ba] = -(weighted[ab] as number);
      bendWeight[ab] = bendWeight[ba] = 1 / drift.bendSe ** 2;
      weightedBend[ab] = drift.bend / drift.bendSe ** 2;
      weightedBend[ba] = -(weightedBend[ab] as number);
      phase[ab] = phase[ba] = phaseEvidence(drift, stepUs);
      if (b % PAIRS_A_STEP === 0) yield;
    }
    yield;
  }
  return { n, weight, weighted, bendWeight, weightedBend, phase };
}

type LogOdds = (between: ClockContrast) => number;

/** From how far apart clocks are, and how many modules a capture of so many identifiers is likely to have. */
function logOddsFor(identifiers: number, spreadPpm: number): LogOdds {
  const prior = -Math.log(Math.max(MODULES_LEAST, identifiers / IDENTIFIERS_A_MODULE) - 1);
  return (between) => sameClockEvidence(between, spreadPpm) + prior;
}

/** Standard deviation of the clusters' rates; each counts once, however many identifiers it has. */
function spreadOf(clusters: readonly Cluster[], candidates: readonly Candidate[]): number {
  if (clusters.length < 2) return SPREAD_FIRST_PPM;
  const rates = clusters.map(({ members }) =>
    median(Float64Array.from(members, (at) => (candidates[at] as Candidate).skew.lowerHull.ppm)),
  );
  const middle = rates.reduce((sum, ppm) => sum + ppm, 0) / rates.length;
  const variance = rates.reduce((sum, ppm) => sum + (ppm - middle) ** 2, 0) / (rates.length - 1);
  return Math.min(SPREAD_PPM[1], Math.max(SPREAD_PPM[0], Math.sqrt(variance)));
}

const shareOf = (logOdds: number): number => 1 / (1 + Math.exp(-logOdds));

/** What the confidences of a capture are made from. */
interface Judgement {
  readonly clusters: readonly Cluster[];
  readonly sums: PairSums;
  readonly logOdds: LogOdds;
  readonly durationS: number;
}

/**
 * How far the nearest other cluster's clock strays from this one's over the whole capture, microseconds. By less than a burst:
 * frames that queue behind the other's all the while take over its clock. By less than one wait for
 * a frame: nobody can say.
 */
function nearestRivalUs(own: Cluster, { clusters, sums, durationS }: Judgement): number {
  return clusters.reduce((nearest, rival) => {
    if (rival === own) return nearest;
    const { ppm, se } = contrast(sums, own.members, rival.members);
    return Math.min(nearest, Math.max(0, Math.abs(ppm) - se) * durationS);
  }, Infinity);
}

function mostConfidence(own: Cluster, judgement: Judgement): number {
  const rivalUs = nearestRivalUs(own, judgement);
  if (rivalUs < WAIT_US) return CONFIDENCE_UNTOLD;
  return rivalUs < BURST_US ? CONFIDENCE_WITH_RIVAL : CONFIDENCE_MOST;
}

/** That `one` belongs to its cluster, rather than to another or to none, and that the cluster is one module's. */
function confidenceOf(one: number, own: Cluster, judgement: Judgement): number {
  const { clusters, sums, logOdds } = judgement;
  const oddsOf = ({ members }: Cluster): number => {
    const others = members.filter((other) => other !== one);
    return Math.exp(logOdds(contrast(sums, [one], others)));
  };
  const odds = oddsOf(own);
  const against = clusters.reduce((sum, cluster) => sum + (cluster === own ? 0 : oddsOf(cluster)), 1);
  const most = mostConfidence(own, judgement);
  return Math.min(most, shareOf(own.weakest) ** 2 * (odds / (odds + against)));
}

interface Found {
  readonly members: readonly { readonly candidate: Candidate; readonly confidence: number }[];
}

/** Clusters of two and more; who is less sure than even is left out. */
function foundGroups(candidates: readonly Candidate[], sums: PairSums, durationS: number): Found[] {
  const first = linkClusters(sums, logOddsFor(candidates.length, SPREAD_FIRST_PPM));
  const logOdds = logOddsFor(candidates.length, spreadOf(first, candidates));
  const clusters = linkClusters(sums, logOdds);
  const judgement = { clusters, sums, logOdds, durationS };
  return clusters.flatMap((cluster): Found[] => {
    if (cluster.members.length < 2) return [];
    const rated = cluster.members.map((at) => ({
      candidate: candidates[at] as Candidate,
      confidence: confidenceOf(at, cluster, judgement),
    }));
    const members = rated.filter(({ confidence }) => confidence >= CONFIDENCE_LEAST);
    return members.length >= 2 ? [{ members }] : [];
  });
}

/** A, B, ... Z, AA, AB, ... */
export function groupLetter(place: number): string {
  const last = String.fromCharCode(65 + (place % 26));
  return place < 26 ? last : groupLetter(Math.floor(place / 26) - 1) + last;
}

const framesOf = ({ members }: Found): number =>
  members.reduce((sum, { candidate }) => sum + 1e6 / candidate.track.nominalUs, 0);

/** The bus on which it sends most. */
function mainBus({ members }: Found, buses: readonly string[]): number {
  const rates = buses.map((bus) =>
    framesOf({ members: members.filter(({ candidate }) => candidate.stream.bus === bus) }),
  );
  return rates.indexOf(Math.max(...rates));
}

const inOrder = (groups: readonly Found[], buses: readonly string[]): Found[] =>
  [...groups].sort((a, b) => mainBus(a, buses) - mainBus(b, buses) || framesOf(b) - framesOf(a));

const rateOf = ({ members }: Found): number =>
  median(Float64Array.from(members, ({ candidate }) => candidate.skew.lowerHull.ppm));

const showPpm = (ppm: number): string => `${ppm >= 0 ? '+' : ''}${ppm.toFixed(2)} ppm`;

function clockWords({ lowerHull, leastSquares, agree }: Skew): string {
  const both = `clock ${showPpm(lowerHull.ppm)} (lower hull, se ${lowerHull.se.toFixed(2)}), ${showPpm(leastSquares.ppm)} (least squares, se ${leastSquares.se.toFixed(2)})`;
  return agree ? both : `${both}: the two disagree`;
}

function letterGroup(found: Found, letter: string, skewPpm: number | null): SenderGroup {
  const members = found.members.map(({ candidate, confidence }): StreamSender => ({
    stream: candidate.stream,
    group: letter,
    confidence: Number(confidence.toFixed(3)),
    skew: candidate.skew,
    track: candidate.track,
    copy: null,
    why: `keeps time with the ${found.members.length - 1} others of its group; ${clockWords(candidate.skew)}`,
  }));
  return { letter, members, skewPpm };
}

function lettered(groups: readonly Found[], buses: readonly string[]): SenderGroup[] {
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
  `a gateway's copy from ${original.bus}: ${Math.round(100 * share)} % of ${looked} payloads came there ${(delayUs / 1000).toFixed(2)} ms before; which group the gateway is does not show in its clock`;

const ALONE = 'no other identifier keeps time with it surely enough';

/**
 * @param rows the survey's, in the order of the table's streams
 * Cost: O(frames) and a bounded sum for each pair of periodic identifiers.
 */
export function* groupSenders(table: FrameTable, rows: readonly SurveyFrame[], recorded: Recorded): Steps<Senders> {
  const hasClock = table.origin.kind !== 'none';
  const copies = hasClock ? yield* findCopies(table.streams) : new Map<Stream, CopyFinding>();
  const senders = new Map<Stream, StreamSender>();
  const candidates: Candidate[] = [];
  for (const [at, stream] of table.streams.entries()) {
    const copy = copies.get(stream);
    if (stream.direction === 'sent') senders.set(stream, alone(stream, 'sent by the logger'));
    else if (!hasClock) senders.set(stream, alone(stream, 'without stamps no clock shows'));
    else if (copy) senders.set(stream, alone(stream, copyWords(copy), copy));
    else {
      const reading = yield* readClock(stream, rows[at] as SurveyFrame, recorded);
      if ('why' in reading) senders.set(stream, alone(stream, reading.why));
      else {
        candidates.push(reading.candidate);
        const { skew, track } = reading.candidate;
        senders.set(stream, { ...alone(stream, `${ALONE}; ${clockWords(skew)}`), skew, track });
      }
    }
    yield;
  }
  const sums = yield* pairSums(candidates, recorded);
  const groups = lettered(foundGroups(candidates, sums, table.endUs / MICROS_PER_SECOND), table.buses);
  for (const { members } of groups) for (const member of members) senders.set(member.stream, member);
  return { streams: table.streams.map((stream) => senders.get(stream) as StreamSender), groups };
}
