/** Of two numbers that go together: which comes after the other, how much later, and what the fit leaves open. */
import type { Random } from '../../kit/random.ts';
import { Changes } from './chance.ts';
import type { Courses } from './courses.ts';
import { shortStepUs } from './asked.ts';
import { outside, shortfallOf, type Shortfall } from './falls-short.ts';
import { sizeOf } from './prepared.ts';
import { nearness } from './nearness.ts';
import { ANSWER_US, bendsOf, instantsAbout, movingInstants, type Instants } from './moving.ts';
import { ownMotionOf, type OwnMotion } from './own-motion.ts';
import type { Prepared } from './prepared.ts';
import { cornersCut, roughnessOf, roundingOf } from './roughness.ts';
import { bestOf, copyLeaves, lineAt, spreadOf, sumUp, type Best, type Cell, type Sizes, type Spread } from './tie.ts';

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
const TWINS = 0.95;
const TWINS_MOST = 3;
const COARSE_STEP_US = 50_000;
const COARSE_FROM = -30;
const COARSE_TO = 30;
const CONSTANTS_US = [0, 12_000, 25_000, 50_000, 100_000, 200_000, 400_000, 800_000] as const;
const FINE_STEPS = 10;
/** A first look over fewer instants is so far off at most. */
const FEW_OFF = 0.1;
const FREED_TURNS = 2;
/** What goes together less than this, all of it, is not looked at for what is free. */
const FREED_FROM = 0.3;
/** Stretches of what is free, at least. */
const STRETCHES_FREE = 4;

export interface Judged {
  readonly leader: Prepared;
  readonly follower: Prepared;
  readonly best: Best;
  readonly spread: Spread;
  /** own: each setting is answered to a size of its own, as of what limits hold back. */
  readonly sizes: Sizes;
  /** Where it was held back; the fit is of the rest. Null where it was not, or that is not sure. */
  readonly short: Shortfall | null;
  /** What the best fit of all of it leaves open, those times included: by which leaders are held against each other. */
  readonly openInAll: number;
  /** Follower's raw values, of the best pure delay. */
  readonly copyResidualSd: number;
  readonly tellingUs: number;
  readonly p: number;
  /** Correlation of what both change by in half a second, the follower's so much later. */
  readonly changes: number;
  /** Follower's raw values: its own dither, and what the leader's dither and both roundings make of it. */
  readonly dither: number;
  readonly ditherPassedOn: number;
  /** What reading the leader straight between its frames misses. */
  readonly missed: number;
  /** Leader's raw values: its dither, what rounding makes of it, and how far it goes in a second when it moves. */
  readonly leaderDither: number;
  readonly leaderRounding: number;
  readonly leaderPace: number;
  readonly own: OwnMotion;
  /** What the value does on its way while it waits for the next frame, when it moves. */
  readonly whileWaiting: number;
}

/** What goes before a field, or before its size, at least roughly the same way. */
export interface Led {
  readonly leader: Prepared;
  /** The field itself, or its size. */
  readonly led: Prepared;
  readonly best: Best;
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
type Fine = Omit<Judged, keyof Dithers | 'p' | 'changes' | 'leaderPace' | 'missed' | 'own' | 'whileWaiting'>;

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

export class FollowJudge {
  private readonly instants = new Map<Prepared, Instants>();
  private readonly bent = new Map<Prepared, Map<number, Float64Array>>();
  private readonly thinned = new Map<Prepared, Instants>();
  private readonly sizes = new Map<Prepared, Prepared>();
  private readonly changes: Changes;
  private readonly shortStepUs: number;
  constructor(
    private readonly courses: Courses,
    private readonly random: Random,
  ) {
    this.changes = new Changes(courses.lengthUs);
    this.shortStepUs = shortStepUs(courses.lengthUs);
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
    const least = sizes === 'own' ? R2_LEAST : r2Least(a);
    if (1 - Math.min(...open.values()) < least - FEW_OFF) return null;
    const sums = sumUp(
      promising(cells, (cell) => open.get(cell) as number),
      courses,
      instants,
      sizes,
    );
    const best = bestOf(sums);
    const tellingUs = Math.max(a.refreshUs, b.refreshUs);
    if (1 - best.unexplained < least) return null;
    const spread = spreadOf(sums, this.unknowable(a, b, best), this.random);
    const copyResidualSd = best.residualSd * Math.sqrt(copyLeaves(sums) / Math.max(1e-12, best.unexplained));
    return {
      leader: a,
      follower: b,
      best,
      spread: widened(spread, stepUs),
      sizes,
      short: null,
      openInAll: best.unexplained,
      copyResidualSd,
      tellingUs,
    };
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

  /** Whether any of the others goes before the field, before its size, or before what its sender shows that goes with it all along: at least roughly the same way. */
  isLed(field: Prepared, others: readonly Prepared[]): boolean {
    const twins = others
      .filter(
        (other) =>
          other !== field && other.sender !== null && other.sender === field.sender && nearness(other, field) >= TWINS,
      )
      .slice(0, TWINS_MOST);
    // What the field itself leads is no proof that it is led.
    const apart = others.filter((other) => other !== field && !twins.includes(other));
    return this.isLedItself(field, others) || twins.some((twin) => this.isLedItself(twin, apart));
  }

  private isLedItself(field: Prepared, others: readonly Prepared[]): boolean {
    return [field, this.sizeOf(field)].some((led) => others.some((other) => this.leadsTo(other, led) !== null));
  }

  /** What goes before the field or its size leaving least open: the field's part that is led, and how. */
  ledBy(field: Prepared, others: readonly Prepared[]): Led | null {
    const all = [field, this.sizeOf(field)].flatMap((led) =>
      others.flatMap((leader) => {
        const best = leader.sender !== null && leader.sender === field.sender ? null : this.leadsTo(leader, led);
        return best ? [{ leader, led, best }] : [];
      }),
    );
    return all.sort((a, b) => a.best.unexplained - b.best.unexplained)[0] ?? null;
  }

  private sizeOf(field: Prepared): Prepared {
    const known = this.sizes.get(field) ?? sizeOf(field);
    this.sizes.set(field, known);
    return known;
  }

  private leadsTo(other: Prepared, led: Prepared): Best | null {
    if (other.place === led.place || nearness(other, led) < LED_NEAR) return null;
    const best = this.roughLag(other, led);
    return best.lagUs >= LED_LAG_US && best.unexplained <= LED_OPEN ? best : null;
  }

  /** null where they are not nearly the same quantity. */
  judge(a: Prepared, b: Prepared): Judged | null {
    const rough = this.roughLag(a, b);
    const plain = this.alike(a, b, rough);
    const [first, second] = plain ? [plain.leader, plain.follower] : rough.lagUs >= 0 ? [a, b] : [b, a];
    const about = plain?.best ?? { ...rough, lagUs: Math.abs(rough.lagUs) };
    const freed = 1 - rough.unexplained >= FREED_FROM ? this.freed(first, second, about, about.unexplained) : null;
    const isBetter = freed && freed.best.unexplained < (plain?.best.unexplained ?? 1);
    const alike = isBetter ? freed : plain;
    const isPlain = alike !== null && 1 - alike.best.unexplained >= R2_LEAST;
    const found = isPlain ? this.byEdges(alike) : (this.settings(a, b) ?? this.settings(b, a) ?? alike);
    return found && this.withDither(found);
  }

  /** Few edges are left where much is held back: the lag is told by all of them then, each answered to a size of its own. */
  private byEdges(alike: Fine): Fine {
    const { leader, follower, short, openInAll, spread } = alike;
    const own = short && spread.lagUs[0] <= 0 ? this.settings(leader, follower) : null;
    return own && own.spread.lagUs[0] > 0 ? { ...own, short, openInAll } : alike;
  }

  private alike(a: Prepared, b: Prepared, rough: Best): Fine | null {
    if (1 - rough.unexplained < Math.min(r2Least(a), r2Least(b)) - 0.15) return null;
    const [first, second, aroundUs] = rough.lagUs >= 0 ? [a, b, rough.lagUs] : [b, a, -rough.lagUs];
    const looked = this.fine(first, second, aroundUs);
    return looked && looked.spread.lagUs[1] < 0 ? this.fine(second, first, -looked.best.lagUs) : looked;
  }

  /** Where nothing holds the follower back. The lag tells what is short of what is asked, and the rest tells the lag: twice. */
  private freed(a: Prepared, b: Prepared, about: Cell, openInAll: number): Fine | null {
    const dither = roughnessOf(this.bends(b, Math.max(a.refreshUs, b.refreshUs)));
    const answer = this.courses.of(b, this.shortStepUs, 0);
    let [cell, found]: [Cell, Fine | null] = [about, null];
    for (let turn = 0; turn < FREED_TURNS; turn++) {
      const asked = this.courses.of(a, this.shortStepUs, cell.constantUs);
      const short = shortfallOf(asked, answer, { ...cell, goesBySteps: a.goesBySteps }, dither);
      if (!short) return null;
      const instants = movingInstants(b.field, b.refreshUs, outside(short.spans));
      const fine = this.fineOver(a, b, fineCells(cell.lagUs, fineStep(a, b)), instants, someOf(instants), 'one');
      if (!fine || instants.stretches < STRETCHES_FREE) return null;
      found = { ...fine, short, openInAll };
      if (Math.abs(fine.best.lagUs - cell.lagUs) <= fineStep(a, b) && fine.best.constantUs === cell.constantUs) break;
      cell = fine.best;
    }
    return found;
  }

  private withDither(found: Fine): Judged {
    const { leader, follower } = found;
    const { r: changes, p } = this.changes.together(leader, follower, found.best.lagUs);
    const scale = Math.abs(found.best.scale);
    return {
      ...found,
      p,
      changes,
      ...this.dithers(leader, follower, scale),
      own: ownMotionOf(leader, follower, found.best),
      leaderPace: 1e6 * this.instantsOf(leader).slope,
      whileWaiting: (scale * this.instantsOf(leader).slope * found.tellingUs) / Math.sqrt(12),
      missed: scale * cornersCut(this.bends(leader, leader.refreshUs)),
    };
  }
}
