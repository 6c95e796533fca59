/** Which number comes after which: all pairs of different senders that go together by rank or by value are held against each other in detail. */
import { checkpoint, type Control } from '../../kit/control.ts';
import type { Random } from '../../kit/random.ts';
import { Changes } from './chance.ts';
import { courseOf, followed, type Course } from './course.ts';
import { togetherOf } from './gathers.ts';
import { sizeOf } from './prepared.ts';
import { ANSWER_US, bendsOf, instantsAbout, movingInstants, type Instants } from './moving.ts';
import type { Prepared } from './prepared.ts';
import { cornersCut, roughnessOf, roundingOf } from './roughness.ts';
import { bestOf, copyLeaves, lineAt, spreadOf, sumUp, type Best, type Cell, type Sizes, type Spread } from './tie.ts';

/** Rank correlation on the coarse grid below which a pair is not worth a closer look. */
const LEVELS = 0.6;
/** Each field is held against so many of its nearest at most: cells of a pack are alike by the hundred. */
const NEAREST_MOST = 8;
/** Below so much explained, two fields are not nearly the same quantity. */
const R2_LEAST = 0.8;
/** What answers a few settings may be held back by limits and enables for long. */
const R2_LEAST_SET = 0.6;
const r2Least = ({ goesBySteps }: Prepared): number => (goesBySteps ? R2_LEAST_SET : R2_LEAST);
/** So many settings tell how they are answered where each answer may have a size of its own. */
const SETTINGS_LEAST = 6;

/** What leads so loosely is no command of it, but shows that it does not move by itself. */
const LED_NEAR = 0.5;
const LED_OPEN = 0.5;
const LED_LAG_US = 8000;
const COARSE_STEP_US = 50_000;
const COARSE_FROM = -30;
const COARSE_TO = 30;
const CONSTANTS_US = [0, 12_000, 25_000, 50_000, 100_000, 200_000, 400_000, 800_000] as const;
const FINE_STEPS = 10;

export interface Judged {
  readonly leader: Prepared;
  readonly follower: Prepared;
  readonly best: Best;
  readonly spread: Spread;
  /** own: each setting is answered to a size of its own, as of what limits hold back. */
  readonly sizes: Sizes;
  /** Follower's raw values, of the best pure delay. */
  readonly copyResidualSd: number;
  readonly tellingUs: number;
  readonly p: number;
  /** Follower's raw values: its own dither, and what the leader's dither and both roundings make of it. */
  readonly dither: number;
  readonly ditherPassedOn: number;
  /** What reading the leader straight between its frames misses. */
  readonly missed: number;
  /** Leader's raw values: its dither, what rounding makes of it, and how far it goes in a second when it moves. */
  readonly leaderDither: number;
  readonly leaderRounding: number;
  readonly leaderPace: number;
  /** What the value does on its way while it waits for the next frame, when it moves. */
  readonly whileWaiting: number;
}

const fineStep = (a: Prepared, b: Prepared): number =>
  Math.min(50_000, Math.max(4000, Math.max(a.refreshUs, b.refreshUs) / 4));

/** Thinned for the first look. */
function someOf(instants: Instants): Instants {
  const { timeUs, value, stretch } = instants;
  const every = Math.max(1, Math.floor(timeUs.length / 800));
  const keep = <T extends Float64Array | Uint16Array>(values: T): T =>
    values.filter((_: number, i: number) => i % every === 0) as T;
  return { ...instants, timeUs: keep(timeUs), value: keep(value), stretch: keep(stretch) };
}

type Dithers = Pick<Judged, 'dither' | 'ditherPassedOn' | 'leaderDither' | 'leaderRounding'>;
type Fine = Omit<Judged, keyof Dithers | 'p' | 'leaderPace' | 'missed' | 'whileWaiting'>;

/** An interval is no finer than the steps that were tried. */
const widened = (spread: Spread, stepUs: number): Spread => ({
  ...spread,
  lagUs: [spread.lagUs[0] - stepUs / 2, spread.lagUs[1] + stepUs / 2],
});

const coarseCells: readonly Cell[] = Array.from({ length: COARSE_TO - COARSE_FROM + 1 }, (_, k) => ({
  lagUs: (COARSE_FROM + k) * COARSE_STEP_US,
  constantUs: 0,
}));

/** The cells worth drawing again: those that leave little open, and all without a memory. */
function promising(cells: readonly Cell[], left: (cell: Cell) => number): Cell[] {
  const ascending = cells.map((cell) => ({ cell, open: left(cell) })).sort((a, b) => a.open - b.open);
  const copies = ascending.filter(({ cell }) => cell.constantUs === 0);
  return [...new Set([...ascending.slice(0, 48), ...copies])].map(({ cell }) => cell);
}

function fineCells(aroundUs: number, stepUs: number): Cell[] {
  return CONSTANTS_US.filter((constantUs) => constantUs === 0 || constantUs >= stepUs / 2).flatMap((constantUs) =>
    Array.from({ length: 2 * FINE_STEPS + 1 }, (_, k) => ({ lagUs: aroundUs + (k - FINE_STEPS) * stepUs, constantUs })),
  );
}

/** Points of plain courses kept at most, 8 bytes each. */
const POINTS_KEPT = 2 ** 23;

/** Courses, the plain ones as many as there is room for; those followed by a lag of one leader at a time, as pairs come sorted by leader. */
class Courses {
  private leader: Prepared | null = null;
  private stepUs = 0;
  private readonly lagging = new Map<number, Course>();
  private readonly plain = new Map<Prepared, Map<number, Course>>();
  private points = 0;
  constructor(private readonly lengthUs: number) {}

  of(leader: Prepared, stepUs: number, constantUs: number): Course {
    if (constantUs === 0) return this.plainOf(leader, stepUs);
    if (leader !== this.leader || stepUs !== this.stepUs) {
      [this.leader, this.stepUs] = [leader, stepUs];
      this.lagging.clear();
    }
    const course = this.lagging.get(constantUs) ?? followed(this.plainOf(leader, stepUs), constantUs);
    this.lagging.set(constantUs, course);
    return course;
  }

  private plainOf(leader: Prepared, stepUs: number): Course {
    const own = this.plain.get(leader) ?? new Map<number, Course>();
    const known = own.get(stepUs);
    if (known) return known;
    const course = courseOf(leader.field, stepUs, this.lengthUs);
    this.points += course.value.length;
    if (this.points > POINTS_KEPT) {
      this.plain.clear();
      own.clear();
      this.points = course.value.length;
    }
    this.plain.set(leader, own.set(stepUs, course));
    return course;
  }
}

export class FollowJudge {
  private readonly courses: Courses;
  private readonly instants = new Map<Prepared, Instants>();
  private readonly bent = new Map<Prepared, Map<number, Float64Array>>();
  private readonly thinned = new Map<Prepared, Instants>();
  private readonly changes: Changes;
  constructor(
    lengthUs: number,
    private readonly random: Random,
  ) {
    this.courses = new Courses(lengthUs);
    this.changes = new Changes(lengthUs);
  }

  private instantsOf(field: Prepared): Instants {
    const known = this.instants.get(field) ?? movingInstants(field.field, field.refreshUs);
    this.instants.set(field, known);
    return known;
  }

  private few(field: Prepared): Instants {
    const known = this.thinned.get(field) ?? someOf(this.instantsOf(field));
    this.thinned.set(field, known);
    return known;
  }

  /** Second differences of frames so far apart, where the field moves. */
  private bends(field: Prepared, apartUs: number): Float64Array {
    const own = this.bent.get(field) ?? new Map<number, Float64Array>();
    const known = own.get(apartUs) ?? bendsOf(field.field, this.instantsOf(field).moving, apartUs);
    this.bent.set(field, own.set(apartUs, known));
    return known;
  }

  /** What dithers in both, told over the same time: a course that bends does so more over longer times. */
  private dithers(leader: Prepared, follower: Prepared, scale: number): Dithers {
    const apartUs = Math.max(leader.refreshUs, follower.refreshUs);
    const [own, other] = [follower, leader].map((field) => roughnessOf(this.bends(field, apartUs))) as [number, number];
    const leaderRounding = roundingOf(leader.field.quantum);
    const passedOn = scale * Math.hypot(other, leaderRounding);
    const ditherPassedOn = Math.hypot(passedOn, roundingOf(follower.field.quantum));
    return { dither: own, ditherPassedOn, leaderDither: other, leaderRounding };
  }

  /** The lag at which a pure delay leaves least open, between the steps tried by the parabola through the three nearest. */
  private roughLag(a: Prepared, b: Prepared): Best {
    const course = this.courses.of(a, Math.max(5000, a.refreshUs / 2), 0);
    const sums = sumUp(coarseCells, new Map([[0, course]]), this.few(b));
    const best = bestOf(sums);
    const at = coarseCells.findIndex(({ lagUs }) => lagUs === best.lagUs);
    if (at <= 0 || at >= coarseCells.length - 1) return best;
    const [before, after] = [lineAt(sums, at - 1).unexplained, lineAt(sums, at + 1).unexplained];
    const bend = before - 2 * best.unexplained + after;
    const aside = bend > 0 ? (0.5 * (before - after)) / bend : 0;
    return { ...best, lagUs: best.lagUs + aside * COARSE_STEP_US };
  }

  /** a leads b by about so much: exactly how, and how surely. */
  private fine(a: Prepared, b: Prepared, aroundUs: number): Fine | null {
    return this.fineOver(a, b, fineCells(aroundUs, fineStep(a, b)), this.instantsOf(b), this.few(b), 'one');
  }

  private fineOver(
    a: Prepared,
    b: Prepared,
    cells: readonly Cell[],
    instants: Instants,
    few: Instants,
    sizes: Sizes,
  ): Fine | null {
    const stepUs = fineStep(a, b);
    const gridUs = Math.max(2500, Math.min(stepUs, a.refreshUs / 2));
    const courses = new Map(
      [...new Set(cells.map(({ constantUs }) => constantUs))].map((constantUs) => [
        constantUs,
        this.courses.of(a, gridUs, constantUs),
      ]),
    );
    const looked = sumUp(cells, courses, few, sizes);
    const open = new Map(cells.map((cell, index) => [cell, lineAt(looked, index).unexplained]));
    const sums = sumUp(
      promising(cells, (cell) => open.get(cell) as number),
      courses,
      instants,
      sizes,
    );
    const best = bestOf(sums);
    const tellingUs = Math.max(a.refreshUs, b.refreshUs);
    if (1 - best.unexplained < (sizes === 'own' ? R2_LEAST : r2Least(a))) return null;
    const spread = spreadOf(sums, this.unknowable(a, b, best), this.random);
    const copyResidualSd = best.residualSd * Math.sqrt(copyLeaves(sums) / Math.max(1e-12, best.unexplained));
    return { leader: a, follower: b, best, spread: widened(spread, stepUs), sizes, copyResidualSd, tellingUs };
  }

  /** What is set, and answered to sizes that others than the leader decide too; what comes late in the time looked at may be an answer to anything. */
  private settings(a: Prepared, b: Prepared): Fine | null {
    const { changes, series } = a.field;
    if (!a.goesBySteps || changes.length < SETTINGS_LEAST) return null;
    const changesUs = Array.from(changes, (row) => series.timeUs[row] as number);
    const instants = instantsAbout(changesUs, b.field, b.refreshUs);
    const few = someOf(instants);
    const course = this.courses.of(a, Math.max(5000, a.refreshUs / 2), 0);
    const rough = bestOf(sumUp(coarseCells, new Map([[0, course]]), few, 'own'));
    const found = this.fineOver(a, b, fineCells(rough.lagUs, fineStep(a, b)), instants, few, 'own');
    return found && found.best.lagUs <= ANSWER_US / 2 ? found : null;
  }

  /** Share of the follower's variance that rounding and reading between frames leave, whatever the model. */
  private unknowable(a: Prepared, b: Prepared, { scale, residualSd, unexplained }: Best): number {
    const missed = Math.hypot(cornersCut(this.bends(a, a.refreshUs)), roundingOf(a.field.quantum));
    const left = (scale * missed) ** 2 + roundingOf(b.field.quantum) ** 2;
    return unexplained > 0 ? (left * unexplained) / residualSd ** 2 : 0;
  }

  /** Whether any of the others goes before the field or before its size, at least roughly the same way. */
  isLed(field: Prepared, others: readonly Prepared[]): boolean {
    return [field, sizeOf(field)].some((led) =>
      others.some((other) => {
        if (other === field || nearness(other, led) < LED_NEAR) return false;
        const { lagUs, unexplained } = this.roughLag(other, led);
        return lagUs >= LED_LAG_US && unexplained <= LED_OPEN;
      }),
    );
  }

  /** null where they are not nearly the same quantity. */
  judge(a: Prepared, b: Prepared): Judged | null {
    const plain = this.alike(a, b);
    const isPlain = plain !== null && 1 - plain.best.unexplained >= R2_LEAST;
    const found = isPlain ? plain : (this.settings(a, b) ?? this.settings(b, a) ?? plain);
    return found && this.withDither(found);
  }

  private alike(a: Prepared, b: Prepared): Fine | null {
    const rough = this.roughLag(a, b);
    if (1 - rough.unexplained < Math.min(r2Least(a), r2Least(b)) - 0.15) return null;
    const [first, second, aroundUs] = rough.lagUs >= 0 ? [a, b, rough.lagUs] : [b, a, -rough.lagUs];
    const looked = this.fine(first, second, aroundUs);
    return looked && looked.spread.lagUs[1] < 0 ? this.fine(second, first, -looked.best.lagUs) : looked;
  }

  private withDither(found: Fine): Judged {
    const { leader, follower } = found;
    const p = this.changes.p(leader, follower, found.best.lagUs);
    const scale = Math.abs(found.best.scale);
    return {
      ...found,
      p,
      ...this.dithers(leader, follower, scale),
      leaderPace: 1e6 * this.instantsOf(leader).slope,
      whileWaiting: (scale * this.instantsOf(leader).slope * found.tellingUs) / Math.sqrt(12),
      missed: scale * cornersCut(this.bends(leader, leader.refreshUs)),
    };
  }
}

const nearness = (a: Prepared, b: Prepared): number =>
  Math.max(Math.abs(togetherOf(a.levels, b.levels)), Math.abs(togetherOf(a.values, b.values)));

/** A part's command is in no frame that the part itself sends: fields of one sender, or of one frame, follow each other in no sense asked here. */
const mayCommand = (a: Prepared, b: Prepared): boolean => {
  if (a.sender !== null && b.sender !== null) return a.sender !== b.sender;
  return a.candidate.stream !== b.candidate.stream;
};

interface Pair {
  readonly a: Prepared;
  readonly b: Prepared;
  readonly near: number;
}

/** Pairs near enough for a closer look, each field's nearest first, sorted by the one that is read as the leader at first. */
function nearPairs(numbers: readonly Prepared[]): { chosen: Pair[]; pairs: number } {
  const near: Pair[] = [];
  let pairs = 0;
  numbers.forEach((a, i) => {
    for (const b of numbers.slice(i + 1)) {
      if (!mayCommand(a, b)) continue;
      pairs++;
      const nearHere = nearness(a, b);
      if (nearHere >= LEVELS) near.push({ a, b, near: nearHere });
    }
  });
  const looks = new Map<Prepared, number>();
  const chosen = near
    .sort((x, y) => y.near - x.near)
    .filter(({ a, b }) => {
      const [ofA, ofB] = [looks.get(a) ?? 0, looks.get(b) ?? 0];
      if (ofA >= NEAREST_MOST && ofB >= NEAREST_MOST) return false;
      looks.set(a, ofA + 1);
      looks.set(b, ofB + 1);
      return true;
    });
  const order = new Map(numbers.map((each, index) => [each, index]));
  chosen.sort((x, y) => (order.get(x.a) as number) - (order.get(y.a) as number));
  return { chosen, pairs };
}

export async function judgeFollows(
  fields: readonly Prepared[],
  lengthUs: number,
  random: Random,
  control: Control,
): Promise<{ judged: Judged[]; pairs: number; isLed: (field: Prepared) => boolean }> {
  const numbers = fields.filter(({ isNumber }) => isNumber);
  const { chosen, pairs } = nearPairs(numbers);
  const judge = new FollowJudge(lengthUs, random);
  const judged: Judged[] = [];
  for (const [index, { a, b }] of chosen.entries()) {
    await checkpoint(control, index / chosen.length, 'who follows whom');
    const found = judge.judge(a, b);
    if (found) judged.push(found);
  }
  const led = new Map<Prepared, boolean>();
  const isLed = (field: Prepared): boolean => {
    const known = led.get(field) ?? judge.isLed(field, numbers);
    led.set(field, known);
    return known;
  };
  return { judged, pairs, isLed };
}
