/**
 * What speaks for one module or two beside clocks, as a log-likelihood ratio for each pair: beginning, stopping and counting anew at
 * the same moments, held against how often others of the bus do so too; and guard parameters that few others have. It is
 * bounded, so that it settles what clocks leave open and no more.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { formatId } from '../../kit/units.ts';
import type { ClockReading, Recorded } from './clock-reading.ts';
import { findOccasions, withinUs, type Occasion, type Occasions } from './occasions.ts';

/** How often two identifiers of one module begin and stop together: some are sent in one mode only, or late (common practice, no source). */
const TOGETHER_SHARE = 0.75;
/** Two modules do so by chance, or at one command, at least so often. */
const CHANCE_LEAST = 0.15;
/** What more of the others do too is not told of: it hardly spoke. */
const CHANCE_TOLD = 0.5;
/** Occasions that say less altogether speak with less than a whole voice. */
const VOICE_LEAST = 0.5;
/** How often identifiers of one module that have a guard have the same parameters. */
const SAME_GUARD_SHARE = 0.8;
/** No evidence beside clocks speaks louder. */
const MOST = 4;
const LEAST = -2;

/** By identifier, as `hintKey` writes it: what its guard's parameters are, in any text; the same text for the same parameters. */
export type Hints = ReadonlyMap<string, string>;

export const hintKey = ({ bus, id, extended }: ClockReading['stream']): string => `${bus}/${formatId(id)}/${extended}`;

/** Log-likelihood ratio of what one module's do in `share` of all cases and two modules' in `chance`. */
const whereSame = (share: number, chance: number): number => Math.log((share + (1 - share) * chance) / chance);

/** Share of the others that have the moment, of those whose period is short enough to tell; with Laplace's rule of succession. */
function chanceOf(us: number, pair: readonly [number, number], moments: Occasion, scale: PairScale): number {
  let [all, near] = [0, 0];
  for (let k = 0; k < moments.length; k++) {
    const other = moments[k] as number;
    if (k === pair[0] || k === pair[1] || Number.isNaN(other) || (scale.periodsUs[k] as number) > scale.longerUs)
      continue;
    all++;
    if (Math.abs(other - us) <= scale.withinUs) near++;
  }
  return Math.max(CHANCE_LEAST, (near + 1) / (all + 2));
}

interface PairScale {
  readonly withinUs: number;
  readonly longerUs: number;
  readonly periodsUs: Float64Array;
}

/** What occasions of one kind say of a pair, and how many that few others have it had together, and apart. */
interface Said {
  readonly ratio: number;
  readonly together: number;
  readonly apart: number;
}

/** Mean over occasions; one that nearly all share counts for little. */
function sharedEvidence(occasions: readonly Occasion[], a: number, b: number, scale: PairScale): Said {
  let [sum, weights, together, apart] = [0, 0, 0, 0];
  for (const moments of occasions) {
    const [one, other] = [moments[a] as number, moments[b] as number];
    const finite = [one, other].filter(Number.isFinite);
    if (Number.isNaN(one + other) || finite.length === 0) continue;
    const chance = Math.max(...finite.map((us) => chanceOf(us, [a, b], moments, scale)));
    const isSame = Math.abs(one - other) <= scale.withinUs;
    sum += (1 - chance) * (isSame ? whereSame(TOGETHER_SHARE, chance) : Math.log(1 - TOGETHER_SHARE));
    weights += 1 - chance;
    if (chance > CHANCE_TOLD) continue;
    if (isSame) together++;
    else apart++;
  }
  return { ratio: sum / Math.max(VOICE_LEAST, weights), together, apart };
}

/** Gaps end where counters begin anew, so of both the one that says more; what is apart speaks against but once. */
function momentEvidence([start, stop, restart]: readonly [number, number, number]): number {
  return Math.max(0, start, restart) + Math.max(0, stop) + Math.min(0, start, stop, restart);
}

/** Never against: a module may guard its frames in several ways. */
function hintEvidence(hints: readonly (string | undefined)[], a: number, b: number): number {
  const own = hints[a];
  if (own === undefined || own !== hints[b]) return 0;
  const others = hints.filter((hint, k) => hint !== undefined && k !== a && k !== b);
  const same = others.filter((hint) => hint === own).length;
  return whereSame(SAME_GUARD_SHARE, (same + 1) / (others.length + 2));
}

export type MomentKind = keyof Occasions;

export const MOMENT_KINDS = ['starts', 'stops', 'restarts'] as const satisfies readonly MomentKind[];

/** What is known of n identifiers beside their clocks; all [n * n], symmetric. */
export interface Beside {
  readonly n: number;
  /** Log-likelihood ratios, -2..4; 0 where nothing is known. */
  readonly evidence: Float64Array;
  /** Occasions that few others have, which the two of a pair had together, and of which they had another moment each. */
  readonly together: Readonly<Record<MomentKind, Uint8Array>>;
  readonly apart: Readonly<Record<MomentKind, Uint8Array>>;
  /** 1 where guards with the same parameters spoke for a pair. */
  readonly guards: Uint8Array;
}

function nothingBeside(n: number): Beside {
  const counts = (): Record<MomentKind, Uint8Array> => ({
    starts: new Uint8Array(n * n),
    stops: new Uint8Array(n * n),
    restarts: new Uint8Array(n * n),
  });
  return {
    n,
    evidence: new Float64Array(n * n),
    together: counts(),
    apart: counts(),
    guards: new Uint8Array(n * n),
  };
}

/** Fills in what the moments of a bus say of one pair, and returns it. */
function tellMoments(beside: Beside, occasions: Occasions, a: number, b: number, scale: PairScale): number {
  const said = MOMENT_KINDS.map((kind) => sharedEvidence(occasions[kind], a, b, scale)) as [Said, Said, Said];
  for (const [place, kind] of MOMENT_KINDS.entries()) {
    for (const at of [a * beside.n + b, b * beside.n + a]) {
      beside.together[kind][at] = (said[place] as Said).together;
      beside.apart[kind][at] = (said[place] as Said).apart;
    }
  }
  return momentEvidence([said[0].ratio, said[1].ratio, said[2].ratio]);
}

/** Cost: O(frames), and n for each pair and occasion. */
export function* besideClocks(
  readings: readonly ClockReading[],
  recorded: Recorded,
  hints: Hints = new Map(),
): Steps<Beside> {
  const n = readings.length;
  const beside = nothingBeside(n);
  const periodsUs = Float64Array.from(readings, ({ track }) => track.nominalUs);
  const ownHints = readings.map(({ stream }) => hints.get(hintKey(stream)));
  const occasions = new Map<string, Occasions>();
  for (const bus of new Set(readings.map(({ stream }) => stream.bus))) {
    occasions.set(bus, findOccasions(readings, bus, recorded));
    yield;
  }
  for (let a = 0; a < n; a++) {
    for (let b = a + 1; b < n; b++) {
      const [one, other] = [readings[a] as ClockReading, readings[b] as ClockReading];
      const longerUs = Math.max(periodsUs[a] as number, periodsUs[b] as number);
      const scale = { withinUs: withinUs(one, other, recorded.stepUs), longerUs, periodsUs };
      const own = one.stream.bus === other.stream.bus ? occasions.get(one.stream.bus) : undefined;
      const guard = hintEvidence(ownHints, a, b);
      const sum = (own ? tellMoments(beside, own, a, b, scale) : 0) + guard;
      for (const at of [a * n + b, b * n + a]) {
        beside.evidence[at] = Math.max(LEAST, Math.min(MOST, sum));
        beside.guards[at] = guard > 0 ? 1 : 0;
      }
    }
    yield;
  }
  return beside;
}
