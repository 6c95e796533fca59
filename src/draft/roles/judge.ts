/** Of two numbers that go together: which comes after the other, how much later, and what the fit leaves open. */
import { shortStepUs } from './asked.ts';
import { Changes } from './chance.ts';
import type { Courses } from './courses.ts';
import { outside, shortfallOf } from './falls-short.ts';
import type { Dithers, Judged, LagFound } from './judged.ts';
import { fineCells, fineStep, R2_LEAST, r2Least, type LagFit } from './lag-fit.ts';
import { someOf, type Looks } from './looks.ts';
import { ANSWER_US, instantsAbout, movingInstants } from './moving.ts';
import { ownMotionOf } from './own-motion.ts';
import type { Prepared } from './prepared.ts';
import { cornersCut, roughnessOf, roundingOf } from './roughness.ts';
import type { Best, Cell } from './tie.ts';

/** So many settings tell how they are answered where each answer may have a size of its own. */
const SETTINGS_LEAST = 6;

const FREED_TURNS = 2;
/** What goes together less than this, all of it, is not looked at for what is free. */
const FREED_FROM = 0.3;
/** Stretches of what is free, at least. */
const STRETCHES_FREE = 4;

export class FollowJudge {
  private readonly changes: Changes;
  private readonly shortStepUs: number;
  constructor(
    private readonly courses: Courses,
    private readonly lagFit: LagFit,
    private readonly looks: Looks,
  ) {
    this.changes = new Changes(courses.lengthUs);
    this.shortStepUs = shortStepUs(courses.lengthUs);
  }

  /** null where they are not nearly the same quantity. */
  judge(a: Prepared, b: Prepared): Judged | null {
    const rough = this.lagFit.roughLag(a, b);
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
  private byEdges(alike: LagFound): LagFound {
    const { leader, follower, short, openInAll, spread } = alike;
    const own = short && spread.lagUs[0] <= 0 ? this.settings(leader, follower) : null;
    return own && own.spread.lagUs[0] > 0 ? { ...own, short, openInAll } : alike;
  }

  private alike(a: Prepared, b: Prepared, rough: Best): LagFound | null {
    if (1 - rough.unexplained < Math.min(r2Least(a), r2Least(b)) - 0.15) return null;
    const [first, second, aroundUs] = rough.lagUs >= 0 ? [a, b, rough.lagUs] : [b, a, -rough.lagUs];
    const looked = this.lagFit.fine(first, second, aroundUs);
    return looked && looked.spread.lagUs[1] < 0 ? this.lagFit.fine(second, first, -looked.best.lagUs) : looked;
  }

  /** Where nothing holds the follower back. The lag tells what is short of what is asked, and the rest tells the lag: twice. */
  private freed(a: Prepared, b: Prepared, about: Cell, openInAll: number): LagFound | null {
    const dither = roughnessOf(this.looks.bends(b, Math.max(a.refreshUs, b.refreshUs)));
    const answer = this.courses.of(b, this.shortStepUs, 0);
    let [cell, found]: [Cell, LagFound | null] = [about, null];
    for (let turn = 0; turn < FREED_TURNS; turn++) {
      const asked = this.courses.of(a, this.shortStepUs, cell.constantUs);
      const short = shortfallOf(asked, answer, { ...cell, goesBySteps: a.goesBySteps }, dither);
      if (!short) return null;
      const instants = movingInstants(b.field, b.refreshUs, outside(short.spans));
      const fine = this.lagFit.fineOver(a, b, fineCells(cell.lagUs, fineStep(a, b)), instants, someOf(instants), 'one');
      if (!fine || instants.stretches < STRETCHES_FREE) return null;
      found = { ...fine, short, openInAll };
      if (Math.abs(fine.best.lagUs - cell.lagUs) <= fineStep(a, b) && fine.best.constantUs === cell.constantUs) break;
      cell = fine.best;
    }
    return found;
  }

  private withDither(found: LagFound): Judged {
    const { leader, follower } = found;
    const { r: changes, p } = this.changes.together(leader, follower, found.best.lagUs);
    const scale = Math.abs(found.best.scale);
    return {
      ...found,
      p,
      changes,
      ...this.dithers(leader, follower, scale),
      own: ownMotionOf(leader, follower, found.best),
      leaderPace: 1e6 * this.looks.instantsOf(leader).slope,
      whileWaiting: (scale * this.looks.instantsOf(leader).slope * found.tellingUs) / Math.sqrt(12),
      missed: scale * cornersCut(this.looks.bends(leader, leader.refreshUs)),
    };
  }

  /** What dithers in both, told over the same time: a course that bends does so more over longer times. */
  private dithers(leader: Prepared, follower: Prepared, scale: number): Dithers {
    const apartUs = Math.max(leader.refreshUs, follower.refreshUs);
    const [own, other] = [follower, leader].map((field) => roughnessOf(this.looks.bends(field, apartUs))) as [
      number,
      number,
    ];
    const leaderRounding = roundingOf(leader.field.quantum);
    const passedOn = scale * Math.hypot(other, leaderRounding);
    const ditherPassedOn = Math.hypot(passedOn, roundingOf(follower.field.quantum));
    return { dither: own, ditherPassedOn, leaderDither: other, leaderRounding };
  }

  /** What is set, and answered to sizes that others than the leader decide too; what comes late in the time looked at may be an answer to anything. */
  private settings(a: Prepared, b: Prepared): LagFound | null {
    const { changes, series } = a.field;
    if (!a.goesBySteps || changes.length < SETTINGS_LEAST) return null;
    const changesUs = Array.from(changes, (row) => series.timeUs[row] as number);
    const instants = instantsAbout(changesUs, b.field, b.refreshUs);
    const few = someOf(instants);
    const rough = this.lagFit.roughLagOfSteps(a, few);
    const found = this.lagFit.fineOver(a, b, fineCells(rough.lagUs, fineStep(a, b)), instants, few, 'own');
    return found && found.best.lagUs <= ANSWER_US / 2 ? found : null;
  }
}
