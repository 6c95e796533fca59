/**
 * For how long the second capture was in circumstances in which the first one heard an identifier. Circumstances are told by who
 * else talks: the identifiers that in the first capture were never there without it, where some were; else which buses are awake and which of
 * the identifiers that both captures have are there. An identifier that only
 * comes while charging is then not missed on a drive, and one of a module that sleeps is not missed before it wakes. This is matching
 * on what was observed, as in observational studies (Rubin 1973): what no shared identifier tells stays unseen.
 */
import type { Pairing } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile, Span } from './profile-types.ts';

/** Instants looked at in each capture, and seconds between two of them at least. */
const INSTANTS_MOST = 4000;
const STEP_S = 0.25;
/** Circumstances count as the same if so many of the identifiers differ, and this share of them: reactions change some. */
const DIFFERENT_MOST = 1;
const DIFFERENT_SHARE = 0.15;
/** Identifiers slower than this say too late that they are gone, ms. */
const TELLING_MS = 1500;

interface Instant {
  readonly atS: number;
  readonly circumstance: number;
}

interface Circumstance {
  /** One place a bus of the first that has a partner, then one a telling identifier. */
  readonly bits: Uint8Array;
  instants: number;
}

interface Course {
  readonly instants: readonly Instant[];
  readonly kinds: readonly Circumstance[];
  readonly stepS: number;
}

/** Whether a moment lies in one of the spans, which are ascending; `slackS` after each still counts. */
export function isWithin(spans: readonly Span[], atS: number, slackS: number): boolean {
  let [low, high] = [0, spans.length];
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((spans[middle] as Span).fromS <= atS) low = middle + 1;
    else high = middle;
  }
  return low > 0 && atS <= (spans[low - 1] as Span).toS + slackS;
}

const slackOf = ({ timing }: IdentifierProfile): number => (1.2 * (timing.periodMs ?? 0)) / 1000;

function courseOf(profile: ComparisonProfile, buses: readonly string[], telling: readonly IdentifierProfile[]): Course {
  const stepS = Math.max(STEP_S, profile.durationS / INSTANTS_MOST);
  const awake = buses.map((bus) => profile.buses.find(({ name }) => name === bus)?.wakings ?? []);
  const kinds: Circumstance[] = [];
  const known = new Map<string, number>();
  const instants: Instant[] = [];
  for (let atS = profile.startS + stepS / 2; atS < profile.startS + profile.durationS; atS += stepS) {
    const bits = Uint8Array.from([
      ...awake.map((wakings) => Number(isWithin(wakings, atS, 0))),
      ...telling.map((identifier) => Number(isWithin(identifier.present, atS, slackOf(identifier)))),
    ]);
    const key = bits.join('');
    const circumstance = known.get(key) ?? kinds.push({ bits, instants: 0 }) - 1;
    known.set(key, circumstance);
    (kinds[circumstance] as Circumstance).instants++;
    instants.push({ atS, circumstance });
  }
  return { instants, kinds, stepS };
}

function distance(a: Uint8Array, b: Uint8Array, buses: number): number {
  let different = 0;
  for (let i = 0; i < a.length; i++) {
    if (a[i] === b[i]) continue;
    if (i < buses) return Infinity;
    different++;
  }
  return different;
}

/** Circumstances of the first that are nearest to each of the second; none where all are too different. */
function nearest(a: Course, b: Course, buses: number, telling: number): number[][] {
  const limit = Math.max(DIFFERENT_MOST, DIFFERENT_SHARE * telling);
  return b.kinds.map(({ bits }) => {
    const far = a.kinds.map((kind) => distance(kind.bits, bits, buses));
    const least = Math.min(...far);
    return least > limit ? [] : far.flatMap((each, at) => (each === least ? [at] : []));
  });
}

export interface Exposure {
  /** Seconds of the second capture in circumstances of the first, each by how often the first then heard it. */
  readonly dueS: number;
  /** Seconds of the first in those circumstances, and of the second. */
  readonly secondsA: number;
  readonly secondsB: number;
  /** The longest that the first went without it in those circumstances. */
  readonly longestWithoutS: number;
}

export interface Circumstances {
  /** How the second capture was exposed to an identifier of the first. */
  exposureOf(identifier: IdentifierProfile): Exposure;
}

/** An identifier bears witness to another that was there for this share of its own time, and for so long in all. */
const WITNESS_SHARE = 0.97;
const WITNESS_S = 5;
/** So many witnesses at once, if there are as many. */
const WITNESSES = 3;

class Matched implements Circumstances {
  /** Whether circumstances of the first were met in the second. */
  private readonly met: Uint8Array;

  constructor(
    private readonly a: Course,
    private readonly b: Course,
    private readonly partners: readonly number[][],
    private readonly buses: readonly string[],
  ) {
    this.met = new Uint8Array(a.kinds.length);
    for (const places of partners) for (const at of places) this.met[at] = 1;
  }

  exposureOf(identifier: IdentifierProfile): Exposure {
    const place = this.buses.indexOf(identifier.bus);
    if (place < 0) return { dueS: 0, secondsA: 0, secondsB: 0, longestWithoutS: Infinity };
    const witnesses = this.witnessesOf(identifier);
    if (witnesses.length > 0) return this.besideWitnesses(identifier, witnesses);
    const heard = new Float64Array(this.a.kinds.length);
    let [without, longest, secondsA] = [0, 0, 0];
    for (const { atS, circumstance } of this.a.instants) {
      if (!this.met[circumstance] || this.a.kinds[circumstance]?.bits[place] !== 1) continue;
      secondsA += this.a.stepS;
      const present = isWithin(identifier.present, atS, slackOf(identifier));
      if (present) heard[circumstance] = (heard[circumstance] as number) + 1;
      without = present ? 0 : without + this.a.stepS;
      longest = Math.max(longest, without);
    }
    const { dueS, secondsB } = this.due(heard, place);
    return { dueS, secondsA, secondsB, longestWithoutS: longest };
  }

  /** [bits] of the telling identifiers that were never there without this one. */
  private witnessesOf(identifier: IdentifierProfile): number[] {
    const first = this.buses.length;
    const bits = this.a.kinds[0]?.bits.length ?? 0;
    const [there, along] = [new Float64Array(bits), new Float64Array(bits)];
    for (const { atS, circumstance } of this.a.instants) {
      const own = (this.a.kinds[circumstance] as Circumstance).bits;
      const present = Number(isWithin(identifier.present, atS, slackOf(identifier)));
      for (let bit = first; bit < bits; bit++) {
        if (own[bit] !== 1) continue;
        there[bit] = (there[bit] as number) + 1;
        along[bit] = (along[bit] as number) + present;
      }
    }
    return [...there.keys()].filter(
      (bit) =>
        (there[bit] as number) * this.a.stepS >= WITNESS_S &&
        (along[bit] as number) >= WITNESS_SHARE * (there[bit] as number),
    );
  }

  /** Due where its witnesses are there. */
  private besideWitnesses(identifier: IdentifierProfile, witnesses: readonly number[]): Exposure {
    const needed = Math.min(WITNESSES, witnesses.length);
    const isDue = ({ bits }: Circumstance): boolean =>
      witnesses.reduce((sum, bit) => sum + (bits[bit] as number), 0) >= needed;
    const secondsB = this.b.kinds.reduce((sum, kind) => sum + (isDue(kind) ? kind.instants * this.b.stepS : 0), 0);
    let [without, longest, secondsA, heard] = [0, 0, 0, 0];
    for (const { atS, circumstance } of this.a.instants) {
      if (!isDue(this.a.kinds[circumstance] as Circumstance)) continue;
      const present = isWithin(identifier.present, atS, slackOf(identifier));
      secondsA += this.a.stepS;
      heard += present ? this.a.stepS : 0;
      without = present ? 0 : without + this.a.stepS;
      longest = Math.max(longest, without);
    }
    return { dueS: secondsA > 0 ? (heard / secondsA) * secondsB : 0, secondsA, secondsB, longestWithoutS: longest };
  }

  private due(heard: Float64Array, place: number): { dueS: number; secondsB: number } {
    let [dueS, secondsB] = [0, 0];
    this.b.kinds.forEach(({ bits, instants }, at) => {
      const places = this.partners[at] as number[];
      if (places.length === 0 || bits[place] !== 1) return;
      const all = places.reduce((sum, each) => sum + (this.a.kinds[each] as Circumstance).instants, 0);
      const share = places.reduce((sum, each) => sum + (heard[each] as number), 0) / Math.max(1, all);
      secondsB += instants * this.b.stepS;
      dueS += share * instants * this.b.stepS;
    });
    return { dueS, secondsB };
  }
}

/** Cost: INSTANTS_MOST times the identifiers, once; exposures INSTANTS_MOST each. */
export function matchCircumstances(
  a: ComparisonProfile,
  b: ComparisonProfile,
  pairing: Pick<Pairing, 'buses' | 'pairs'>,
): Circumstances {
  const matched = [...pairing.buses].filter((entry): entry is [string, string] => entry[1] !== null);
  const telling = pairing.pairs.filter(
    (pair) =>
      [pair.a, pair.b].every(({ timing }) => timing.periodMs !== null && timing.periodMs <= TELLING_MS) &&
      pair.a.count > 10,
  );
  const courseA = courseOf(
    a,
    matched.map(([bus]) => bus),
    telling.map((pair) => pair.a),
  );
  const courseB = courseOf(
    b,
    matched.map(([, bus]) => bus),
    telling.map((pair) => pair.b),
  );
  const partners = nearest(courseA, courseB, matched.length, telling.length);
  return new Matched(
    courseA,
    courseB,
    partners,
    matched.map(([bus]) => bus),
  );
}
