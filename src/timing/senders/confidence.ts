/**
 * Groups from pairs, and how sure each membership is: the odds that an identifier keeps time with the others of its cluster, against
 * every other cluster and against none, as far as stamps can tell the clusters' clocks apart at all.
 */
import { logistic } from '../../kit/statistics/distributions.ts';
import { median } from '../robust.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import { WIRE_STEP_US, type ClockReading, type Recorded } from './clock-reading.ts';
import { contrast, linkClusters, type Cluster, type PairSums } from './linkage.ts';
import { sameClockEvidence, type ClockContrast } from './same-clock.ts';

/** A member that is less sure than even is left alone. */
const CONFIDENCE_LEAST = 0.5;
/**
 * Where one wait for a frame is a drift of more than so much over the whole capture, ppm, clocks of two modules are often no further
 * apart: more is asked than what a rival within a burst leaves.
 */
const SHORT_PPM = 2;
const CONFIDENCE_LEAST_SHORT = 0.86;
/** Nothing is surer than this from one capture's clocks. */
const CONFIDENCE_MOST = 0.99;
/**
 * Steps that are a clock's drift by more than so much over the capture, ppm: two modules of a vehicle in about one in ten lie closer
 * than such stamps can tell, and what order and phase add cannot tell them either. Nor is anything surer where stamps do not show
 * who follows another one's frames: about one identifier in twenty does.
 */
const COARSE_PPM = 1;
const CONFIDENCE_COARSE = 0.89;
/** Frames of one task keep a bus for about so long; a clock that strays by less hides behind it. */
const BURST_US = 500;
const CONFIDENCE_WITH_RIVAL = 0.85;
/** The mean wait for a frame under way: 135 bits at 500 kbit/s last 270 us, half of that is waited for (ISO 11898-1). */
const WAIT_US = 135;
const CONFIDENCE_UNTOLD = 0.45;
/** Unless they begin and stop apart from each other: log-likelihood ratio. */
const PARTED = -1;
/** Identifiers that a module usually sends: for how likely two are of one module before anything is known (common practice, no source). */
const IDENTIFIERS_A_MODULE = 5;
const MODULES_LEAST = 4;
/** What is assumed of the spread of clocks, ppm, whatever a capture's few modules show. */
const SPREAD_PPM = [4, 30] as const;
/** Before any are told apart. */
export const SPREAD_FIRST_PPM = 10;

type LogOdds = (between: ClockContrast) => number;

/** From how far apart clocks are, and how many modules a capture of so many identifiers is likely to have. */
function logOddsFor(identifiers: number, spreadPpm: number): LogOdds {
  const prior = -Math.log(Math.max(MODULES_LEAST, identifiers / IDENTIFIERS_A_MODULE) - 1);
  return (between) => sameClockEvidence(between, spreadPpm) + prior;
}

/** Standard deviation of the clusters' rates; each counts once, however many identifiers it has. */
function spreadOf(clusters: readonly Cluster[], readings: readonly ClockReading[]): number {
  if (clusters.length < 2) return SPREAD_FIRST_PPM;
  const rates = clusters.map(({ members }) =>
    median(Float64Array.from(members, (at) => (readings[at] as ClockReading).rate.ppm)),
  );
  const middle = rates.reduce((sum, ppm) => sum + ppm, 0) / rates.length;
  const variance = rates.reduce((sum, ppm) => sum + (ppm - middle) ** 2, 0) / (rates.length - 1);
  return Math.min(SPREAD_PPM[1], Math.max(SPREAD_PPM[0], Math.sqrt(variance)));
}

/**
 * In a capture so short that one wait is a drift of more than so much, ppm, two modules' clocks agree within what can be told about once in
 * ten vehicles, as clocks of few makes that warm alike do more often than independent ones: log-odds above even are taken by a
 * power there (the tempered likelihood of P. Gruenwald, "The safe Bayesian", 2012).
 */
const TEMPERED_PPM = 0.6;
const TEMPER = 0.5;

const tempered = (logOdds: number, power: number): number => logistic(logOdds > 0 ? power * logOdds : logOdds);

/** What the confidences of a capture are made from. */
interface Judgement {
  readonly clusters: readonly Cluster[];
  readonly sums: PairSums;
  readonly logOdds: LogOdds;
  readonly durationS: number;
  /** What stamps allow at most. */
  readonly most: number;
}

/** How far two clocks stray from each other within the capture, microseconds: by their drift, and by how it changes. */
function strayUs({ ppm, bend, bendSe }: ClockContrast, durationS: number): number {
  const bent = Number.isFinite(bendSe) ? Math.max(0, Math.abs(bend) - 2 * bendSe) : 0;
  return Math.abs(ppm) * durationS + (bent * durationS ** 2) / 800;
}

/**
 * What a rival leaves of the confidence. A clock that strays by less than one wait for a frame over the whole capture: nobody can
 * say. By less than a burst, with frames that leave together: those that queue behind the other's may have taken over its clock.
 * Where the drift itself is not known so well, the odds say it all.
 */
function leftBy(rival: Cluster, own: Cluster, { sums, durationS, most }: Judgement): number {
  const between = contrast(sums, own.members, rival.members);
  if (between.se * durationS > WAIT_US) return most;
  const apartUs = strayUs(between, durationS);
  if (apartUs < WAIT_US) return between.beside < PARTED ? Math.min(most, CONFIDENCE_WITH_RIVAL) : CONFIDENCE_UNTOLD;
  return apartUs < BURST_US && between.order > 0 ? Math.min(most, CONFIDENCE_WITH_RIVAL) : most;
}

const mostConfidence = (own: Cluster, judgement: Judgement): number =>
  judgement.clusters.reduce(
    (least, rival) => (rival === own ? least : Math.min(least, leftBy(rival, own, judgement))),
    judgement.most,
  );

/** That `one` belongs to its cluster, rather than to another or to none, and that the cluster is one module's. */
function confidenceOf(one: number, own: Cluster, judgement: Judgement): number {
  const { clusters, sums, logOdds, durationS } = judgement;
  const oddsOf = ({ members }: Cluster): number => {
    const others = members.filter((other) => other !== one);
    return Math.exp(logOdds(contrast(sums, [one], others)));
  };
  const odds = oddsOf(own);
  const against = clusters.reduce((sum, cluster) => sum + (cluster === own ? 0 : oddsOf(cluster)), 1);
  const power = WAIT_US / durationS > TEMPERED_PPM ? TEMPER : 1;
  const surest = own.surest[own.members.indexOf(one)] as number;
  return Math.min(mostConfidence(own, judgement), tempered(surest, power), tempered(Math.log(odds / against), power));
}

export interface FoundMember {
  readonly reading: ClockReading;
  /** Of its reading among all. */
  readonly place: number;
  readonly confidence: number;
  /** What it would be if nothing beside clocks were known. */
  readonly clocksAlone: number;
}

export interface FoundGroup<Member extends FoundMember = FoundMember> {
  readonly members: readonly Member[];
}

/** Clusters of two and more; who is less sure than even is left out. */
export function findGroups(
  readings: readonly ClockReading[],
  sums: PairSums,
  { endUs, stepUs }: Pick<Recorded, 'endUs' | 'stepUs'>,
): FoundGroup[] {
  const durationS = endUs / MICROS_PER_SECOND;
  const isCoarse = stepUs > WIRE_STEP_US || (stepUs / endUs) * 1e6 > COARSE_PPM;
  const first = linkClusters(sums, logOddsFor(readings.length, SPREAD_FIRST_PPM));
  const logOdds = logOddsFor(readings.length, spreadOf(first, readings));
  const clusters = linkClusters(sums, logOdds);
  const least = (WAIT_US / endUs) * 1e6 > SHORT_PPM ? CONFIDENCE_LEAST_SHORT : CONFIDENCE_LEAST;
  const judgement = { clusters, sums, logOdds, durationS, most: isCoarse ? CONFIDENCE_COARSE : CONFIDENCE_MOST };
  const byClocks = { ...judgement, sums: { ...sums, beside: new Float64Array(sums.beside.length) } };
  return clusters.flatMap((cluster): FoundGroup[] => {
    if (cluster.members.length < 2) return [];
    const rated = cluster.members.map((at) => ({
      reading: readings[at] as ClockReading,
      place: at,
      confidence: confidenceOf(at, cluster, judgement),
      clocksAlone: confidenceOf(at, cluster, byClocks),
    }));
    const members = rated.filter(({ confidence }) => confidence >= least);
    return members.length >= 2 ? [{ members }] : [];
  });
}
