/**
 * The capture cut at the turns of the vehicle: stretches of steady traffic, and between them the moments of starting and stopping, which
 * have a length of their own. Steady stretches in which the same identifiers run at the same paces are one mode wherever they lie.
 */
import type { Activity } from './activity.ts';
import type { Recorded, Turn } from './changes.ts';
import { median } from '../robust.ts';

export interface Stretch {
  readonly kind: 'asleep' | 'waking' | 'shutting down' | 'steady';
  readonly fromUs: number;
  readonly toUs: number;
  /** For steady stretches: which traffic, 0 for the first seen. */
  readonly traffic: number;
  readonly why: string;
}

/** A turn in which this share of the steady identifiers starts (or stops) is waking (or shutting down), not a change of mode. */
const MANY = 0.2;
/** Starts outnumber stops so many times. */
const MOSTLY = 3;
/**
 * Modules stay awake about two seconds after the last frame of the network's management (common practice, no source), and slow identifiers
 * come some seconds late.
 */
const SETTLE_US = 3e6;
/** Stretches of traffic are alike where fewer than this share of their identifiers differ, and fewer than two. */
const DIFFER_SHARE = 0.02;
/** A state shorter than this, or than so many periods of the identifiers that show it, is none: what there is then is a border. */
const STATE_LEAST_US = 2e5;
const STATE_PERIODS = 4;

/** [activities] period in microseconds, 0 where silent, in the middle of a stretch: who is there for most of it. */
function trafficOf(activities: readonly Activity[], fromUs: number, toUs: number): Float64Array {
  return Float64Array.from(activities, (activity) => {
    let best = 0;
    let mostUs = 0;
    for (const { fromUs: start, toUs: end, periodUs } of activity.spells) {
      const sharedUs = Math.min(end + periodUs, toUs) - Math.max(start - periodUs, fromUs);
      if (sharedUs > mostUs) {
        mostUs = sharedUs;
        best = periodUs;
      }
    }
    return mostUs >= 0.5 * (toUs - fromUs) ? best : 0;
  });
}

function isAlike(a: Float64Array, b: Float64Array): boolean {
  let differ = 0;
  let present = 0;
  for (let i = 0; i < a.length; i++) {
    const [one, other] = [a[i] as number, b[i] as number];
    if (one > 0 || other > 0) present++;
    if (one > 0 && other > 0 && Math.abs(one / other - 1) > 0.05) differ += 2;
    else if (one > 0 !== other > 0) differ++;
  }
  return differ < Math.max(2, DIFFER_SHARE * present);
}

interface Counts {
  readonly starts: number;
  readonly stops: number;
  readonly paces: number;
}

function count({ changes }: Turn): Counts {
  const of = (wanted: string): number =>
    new Set(changes.filter(({ kind }) => kind === wanted).map(({ activity }) => activity)).size;
  return { starts: of('start'), stops: of('stop'), paces: of('pace') };
}

const ids = (n: number): string => (n === 1 ? '1 identifier' : `${n} identifiers`);

function turnWords({ starts, stops, paces }: Counts): string {
  const parts = [
    starts > 0 ? `${ids(starts)} ${starts === 1 ? 'starts' : 'start'}` : '',
    stops > 0 ? `${ids(stops)} ${stops === 1 ? 'stops' : 'stop'}` : '',
    paces > 0 ? `${ids(paces)} ${paces === 1 ? 'changes its period' : 'change their period'}` : '',
  ];
  return parts.filter(Boolean).join(', ');
}

type Direction = 'up' | 'down' | 'paces' | 'other';

function directionOf(turn: Turn): Direction {
  const { starts, stops } = count(turn);
  if (starts > 0 && starts >= MOSTLY * stops) return 'up';
  if (stops > 0 && stops >= MOSTLY * starts) return 'down';
  return starts + stops === 0 ? 'paces' : 'other';
}

/** Modules wake and stop at moments of their own: turns of one direction that follow closely are one, and so is what still settles after waking. */
function mergeTurns(turns: readonly Turn[]): Turn[] {
  const merged: Turn[] = [];
  for (const turn of turns) {
    const last = merged.at(-1);
    const before = last && directionOf(last);
    const own = directionOf(turn);
    const alike = (own === 'up' || own === 'down') && before === own;
    const isOne = last && turn.fromUs - last.toUs < SETTLE_US && (alike || (before === 'up' && own === 'paces'));
    if (isOne) {
      merged[merged.length - 1] = {
        ...last,
        toUs: Math.max(last.toUs, turn.toUs),
        changes: [...last.changes, ...turn.changes],
      };
    } else merged.push(turn);
  }
  return merged;
}

/** What starts just after the first frame began with it; what stops just before the last ends with it. */
function reachEdges(turns: readonly Turn[], { fromUs, toUs }: Recorded): Turn[] {
  return turns.map((turn, at) => {
    const begins = at === 0 && directionOf(turn) === 'up' && turn.fromUs - fromUs < SETTLE_US;
    const ends = at === turns.length - 1 && directionOf(turn) === 'down' && toUs - turn.toUs < SETTLE_US;
    return { ...turn, fromUs: begins ? fromUs : turn.fromUs, toUs: ends ? toUs : turn.toUs };
  });
}

/** How long a state must last for the identifiers of a turn to show it: their median period tells. */
function leastLength(turn: Turn, activities: readonly Activity[]): number {
  const places = [...new Set(turn.changes.map(({ activity }) => activity))];
  const periods = Float64Array.from(places, (place) => (activities[place] as Activity).periodUs);
  return Math.max(STATE_LEAST_US, STATE_PERIODS * median(periods));
}

/** Waking and shutting down are stretches of their own; any other turn is a border. */
function turnStretch(turn: Turn, activities: readonly Activity[]): Stretch | null {
  const counts = count(turn);
  const direction = directionOf(turn);
  const moving = direction === 'up' ? counts.starts : direction === 'down' ? counts.stops : 0;
  if (moving < 2 || moving < MANY * activities.length) return null;
  if (turn.toUs - turn.fromUs < leastLength(turn, activities)) return null;
  const kind = direction === 'up' ? 'waking' : 'shutting down';
  return { fromUs: turn.fromUs, toUs: turn.toUs, traffic: -1, why: turnWords(counts), kind };
}

class Cutter {
  readonly stretches: Stretch[] = [];
  private readonly traffics: Float64Array[] = [];
  private after = 'from the start of the capture';
  /** What the turn before asks of the stretch after it. */
  private leastUs = Infinity;
  constructor(
    private readonly activities: readonly Activity[],
    private nowUs: number,
  ) {}

  /** The same traffic as an earlier stretch's, or a new one. */
  private trafficNumber(traffic: Float64Array): number {
    const known = this.traffics.findIndex((other) => isAlike(other, traffic));
    return known >= 0 ? known : this.traffics.push(traffic) - 1;
  }

  /** Up to `toUs`, unless that is too short for the turns on both sides: then it belongs to what comes after. */
  private addSteady(toUs: number, leastUs: number): void {
    if (toUs - this.nowUs < Math.min(leastUs, this.leastUs)) return;
    const traffic = trafficOf(this.activities, this.nowUs, toUs);
    const running = traffic.filter((us) => us > 0).length;
    const base = { fromUs: this.nowUs, toUs };
    if (running === 0 && this.activities.length > 0) {
      this.stretches.push({ ...base, kind: 'asleep', traffic: -1, why: 'no identifier with a period is sent' });
    } else {
      const why = `${ids(running)} with a period, ${this.after}`;
      this.stretches.push({ ...base, kind: 'steady', traffic: this.trafficNumber(traffic), why });
    }
    this.nowUs = toUs;
  }

  turn(turn: Turn): void {
    const stretch = turnStretch(turn, this.activities);
    const leastUs = leastLength(turn, this.activities);
    this.addSteady(turn.fromUs, leastUs);
    this.leastUs = leastUs;
    this.after = `after ${turnWords(count(turn))}`;
    if (!stretch) return;
    this.stretches.push({ ...stretch, fromUs: this.nowUs });
    this.nowUs = stretch.toUs;
  }

  end(endUs: number): Stretch[] {
    this.addSteady(endUs, this.stretches.length === 0 ? 0 : Infinity);
    const last = this.stretches.pop();
    return last ? joined([...this.stretches, { ...last, toUs: endUs }]) : [];
  }
}

/** Neighbours with the same traffic are one. */
function joined(stretches: readonly Stretch[]): Stretch[] {
  const out: Stretch[] = [];
  for (const stretch of stretches) {
    const last = out.at(-1);
    const same = last && last.kind === stretch.kind && last.traffic === stretch.traffic;
    if (same && last.kind !== 'waking' && last.kind !== 'shutting down')
      out[out.length - 1] = { ...last, toUs: stretch.toUs };
    else out.push(stretch);
  }
  return out;
}

/** Stretches from the capture's first frame to its last, without holes. */
export function cutAtTurns(activities: readonly Activity[], turns: readonly Turn[], recorded: Recorded): Stretch[] {
  const cutter = new Cutter(activities, recorded.fromUs);
  for (const turn of reachEdges(mergeTurns(turns), recorded)) cutter.turn(turn);
  return cutter.end(recorded.toUs);
}
