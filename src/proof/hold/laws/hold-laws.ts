/**
 * Physical laws that held between signals before, asked again of this capture. A law that no longer holds refuses those members that
 * nothing else vindicates: a reference that held their scale, or another law. It also compares the members' scales, never their common one:
 * of speeds that are alike the one is refused whose scale is off from the others'.
 */
import { checkpoint, type Control } from '../../../kit/control.ts';
import { extent, median } from '../../../kit/statistics/order.ts';
import type { MapSignal } from '../../../map/schema.ts';
import type { CountsFor } from '../counts.ts';
import type { HeldSignal } from '../held-signal.ts';
import * as limit from '../thresholds.ts';
import { addAspect, notExercised, type Aspects, type Judgement, type ToldAspect } from '../told.ts';
import { courseOf, knownIn, picked, through, type Course } from './course.ts';
import { lawsOf, type Law, type LawName } from './members.ts';
import { figuresOf, type LawFigures } from './open.ts';

const percent = (share: number): string => `${Number((100 * share).toPrecision(2))} %`;
const namesOf = ({ members }: Law): string => members.map(({ held }) => held.compiled.signal.name).join(', ');

/** What of a scale the law tests. */
const TESTS: Record<LawName, string> = {
  'alike-speeds': 'their scales against each other',
  'constant-ratio': 'the ratio of their scales',
  'power-balance': 'that it is the product, not its scale',
  'charge-sum': 'that it is the sum over time, not its scale',
  'cell-sum': 'the ratio of their scales',
};

const plain = (verdict: Judgement['verdict'], detail: string, figures: Judgement['figures'] = {}): Judgement => ({
  verdict,
  detail,
  figures,
  moments: [],
});

/** Whether it moved far enough here for noise not to count. */
function isMoved({ compiled: { signal } }: HeldSignal, { physical }: Course): boolean {
  const { least, most } = extent(physical);
  const before = signal.observed ? signal.observed.max - signal.observed.min : 0;
  return (
    most - least >=
    Math.max(limit.COVERED_TO_TEST * before, limit.STEPS_BEYOND * Math.abs(signal.table ? 0 : signal.scale))
  );
}

interface Laid {
  readonly held: HeldSignal;
  readonly part: string;
  readonly course: Course;
}

/** Slope of each alike speed against the middle of all, in the map's units; only where these are the same, and the map claims scales at all. */
function scalesApart(laid: readonly Laid[]): Map<Laid, number> {
  const units = new Set(laid.map(({ held }) => held.compiled.signal.unit));
  if (units.size !== 1 || units.has('') || laid.length < 3) return new Map();
  const at = knownIn(laid.map(({ course }) => course.physical));
  const middle = Float64Array.from(at, (k) => median(laid.map(({ course }) => course.physical[k] as number)));
  return new Map(laid.map((each) => [each, through(middle, picked(each.course.physical, at)).slope] as const));
}

interface Judged {
  readonly of: (one: Laid) => Judgement;
  /** Whether the law itself broke: each member is then a suspect. */
  readonly isBroken: boolean;
}

function judgeLaw(law: Law, laid: readonly Laid[]): Judged {
  const same = (judgement: Judgement, isBroken = false): Judged => ({ of: () => judgement, isBroken });
  const names = `${law.law} of ${namesOf(law)}`;
  if (laid.length < law.told) return same(notExercised(`${names}: a member rests, or is not there`));
  if (!laid.every(({ held, course }) => isMoved(held, course)))
    return same(notExercised(`${names}: a member hardly moves`));
  const found = figuresOf(law.law, laid);
  if (!found || found.n < limit.LAW_POINTS) return same(notExercised(`${names}: too short`));
  const { open, n, ratio } = found;
  const apart = ratioApart(found, law);
  const figures = { lawOpen: open, lawPoints: n, ...(ratio === null ? {} : { lawRatio: ratio }) };
  const left = `${names}: ${percent(open)} left open over ${n} instants`;
  const most = limit.LAW_OPEN[law.law];
  if (open > limit.LAW_BROKEN[law.law] || (apart > limit.RATIO_BROKEN && open <= most)) {
    const words = apart > limit.RATIO_BROKEN ? `${left}, ratio ${ratio} where it was ${law.ratio}` : left;
    return same(plain('fails', `it breaks ${words}`, figures), true);
  }
  if (open > most || apart > limit.RATIO_KEPT) return same(notExercised(`${left}: too much to say`, figures));
  const slopes = law.law === 'alike-speeds' ? scalesApart(laid) : new Map<Laid, number>();
  const isScaled = laid.every(({ held }) => held.compiled.signal.unit !== '');
  const tests = law.law === 'alike-speeds' && !isScaled ? 'no scale, as the map claims none' : TESTS[law.law];
  const holds = plain('holds', `${left}; tests ${tests}`, figures);
  return {
    isBroken: false,
    of: (one) => {
      const slope = slopes.get(one) ?? 1;
      if (Math.abs(slope - 1) <= limit.ALIKE_SCALES) return holds;
      return plain('fails', `${names}: its scale is ${Number(slope.toPrecision(4))} times that of the others`, {
        ...figures,
        scaleRatio: slope,
      });
    },
  };
}

/** What scatters flattens a slope: the true one lies between it and that over the share explained (the bounds of Frisch 1934, from memory). */
const boundsOf = (ratio: number, open: number): readonly [number, number] => {
  const steepest = ratio / Math.max(0.1, 1 - open);
  return ratio < steepest ? [ratio, steepest] : [steepest, ratio];
};

/** How far apart two ratios surely are, as a share. */
function apartBy([low, high]: readonly [number, number], [lowBefore, highBefore]: readonly [number, number]): number {
  const gap = Math.max(low - highBefore, lowBefore - high, 0);
  return gap / Math.min(Math.abs(highBefore), Math.abs(high));
}

/** Of two speeds it is not told which came first, nor that both have their sign: either way about will do, and the size of the ratio. */
function ratioApart({ open, ratio }: LawFigures, law: Law): number {
  if (ratio === null || law.ratio === null) return 0;
  if (law.law !== 'constant-ratio') return apartBy(boundsOf(ratio, open), boundsOf(law.ratio, law.open));
  const before = boundsOf(Math.abs(law.ratio), law.open);
  const size = Math.abs(ratio);
  return Math.min(apartBy(boundsOf(size, open), before), apartBy(boundsOf(1 / size, open), before));
}

function isVindicated(signal: MapSignal, scales: Aspects, held: ReadonlySet<MapSignal>): boolean {
  return held.has(signal) || (scales.get(signal) ?? []).some(({ verdict }) => verdict === 'holds');
}

/** @param scales what references said: who they hold is not to blame, and whom they refuse is */
export async function holdLaws(
  signals: readonly HeldSignal[],
  countsFor: CountsFor,
  scales: Aspects,
  control: Control,
): Promise<Aspects> {
  const laws = lawsOf(signals);
  const laidOf = (law: Law): Laid[] =>
    law.members.flatMap(({ held, part }) => {
      const counts = countsFor(held);
      return counts ? [{ held, part, course: courseOf(counts) }] : [];
    });
  const judged = laws.map((law) => {
    const laid = laidOf(law);
    return { law, laid, ...judgeLaw(law, laid) };
  });
  await checkpoint(control, 0.8, 'physical laws');
  const holding = new Set(
    judged.flatMap(({ laid, of }) =>
      laid.filter((one) => of(one).verdict === 'holds').map(({ held }) => held.compiled.signal),
    ),
  );
  const aspects = new Map<MapSignal, readonly ToldAspect[]>();
  for (const { law, laid, of, isBroken } of judged) {
    const refused = laid.some(({ held }) =>
      (scales.get(held.compiled.signal) ?? []).some((one) => one.verdict === 'fails'),
    );
    for (const { held } of law.members) {
      const { signal } = held.compiled;
      const one = laid.find((each) => each.held === held);
      const own = one ? of(one) : of(laid[0] as Laid);
      const isSuspect = !isBroken || (!refused && !isVindicated(signal, scales, holding));
      const told = isSuspect
        ? own
        : { ...own, verdict: 'not-exercised' as const, detail: `${own.detail}; another member is to blame` };
      addAspect(aspects, signal, { aspect: 'law', ...told });
    }
  }
  return aspects;
}
