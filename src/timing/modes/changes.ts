/**
 * Moments at which several identifiers change together: start, stop, or send at another pace. One alone may have its own reasons; many at once
 * are the vehicle. Whether changes belong together is weighed in bits (minimum description length, Rissanen 1978): a change told by
 * itself costs the place it has in the capture, one told after another costs the distance to it, in the universal code for
 * whole numbers (Elias 1975, gamma code). A change of the vehicle pays where the bits it saves exceed what it costs to say who
 * takes part. A stop is known to one period after the last frame, a start to one before the first.
 */
import type { Activity, Spell } from './activity.ts';

export interface Change {
  /** Place in the list of activities. */
  readonly activity: number;
  readonly kind: 'start' | 'stop' | 'pace';
  /** The frame that shows it. */
  readonly atUs: number;
  /** Within these bounds it happened. */
  readonly fromUs: number;
  readonly toUs: number;
}

/** From a first frame to a last one. */
export interface Recorded {
  readonly fromUs: number;
  readonly toUs: number;
}

export interface Turn {
  readonly fromUs: number;
  readonly toUs: number;
  readonly changes: readonly Change[];
}

/** As fine as places in the capture are told: a task's tick or two. */
export const GRAIN_US = 10_000;
/** A slow identifier's stop is known but roughly: it does not tie what happens later than this to what happened before. */
const REACH_US = 1e6;
/** Bits above which a saving is not chance: one in a thousand. */
const SURE_BITS = 10;
/**
 * So many ticks without a frame are a stop, where the capture goes on. At its edges no later frame shows whether the sender had only kept
 * silent, a logger takes up and leaves off one buffer after the other, and clocks apart by 50 ppm end the same number of ticks
 * 30 ms apart after ten minutes: what happens within so many ticks of an edge is not known.
 */
const EDGE_TICKS = 4;

const isSamePace = (a: Spell, b: Spell): boolean => Math.abs(a.periodUs / b.periodUs - 1) < 0.05;

/** Between two spells: another pace at once, or a stop and a start. */
function changesBetween(activity: number, last: Spell, next: Spell): Change[] {
  const atOnce = next.fromUs - last.toUs <= 2 * Math.max(last.periodUs, next.periodUs);
  if (atOnce && isSamePace(last, next)) return [];
  if (!atOnce) return [stopOf(activity, last), startOf(activity, next)];
  return [{ activity, kind: 'pace', atUs: next.fromUs, fromUs: last.toUs, toUs: next.fromUs }];
}

const stopOf = (activity: number, { toUs, periodUs }: Spell): Change => ({
  activity,
  kind: 'stop',
  atUs: toUs,
  fromUs: toUs,
  toUs: toUs + periodUs,
});
const startOf = (activity: number, { fromUs, periodUs }: Spell): Change => ({
  activity,
  kind: 'start',
  atUs: fromUs,
  fromUs: fromUs - periodUs,
  toUs: fromUs,
});

/** All changes within the recording of each bus, by the time that their frames show them. */
function changesOf(activities: readonly Activity[], recordedOf: (bus: string) => Recorded): Change[] {
  const changes = activities.flatMap(({ bus, spells }, activity): Change[] => {
    const { fromUs, toUs } = recordedOf(bus);
    const first = spells[0] as Spell;
    const last = spells[spells.length - 1] as Spell;
    const between = spells.slice(1).flatMap((spell, at) => changesBetween(activity, spells[at] as Spell, spell));
    return [
      ...(first.fromUs - fromUs > EDGE_TICKS * first.periodUs ? [startOf(activity, first)] : []),
      ...between,
      ...(toUs - last.toUs > EDGE_TICKS * last.periodUs ? [stopOf(activity, last)] : []),
    ];
  });
  return changes.sort((a, b) => a.atUs - b.atUs);
}

/** Bits that telling a change after another saves against telling its place: none where it is far, or itself known but roughly. */
function savedBits(gapUs: number, change: Change, lengthUs: number): number {
  const known = Math.max(GRAIN_US, change.toUs - change.fromUs);
  return Math.log2(Math.max(1, lengthUs / known)) - 2 * Math.log2(1 + Math.max(0, gapUs) / GRAIN_US) - 1;
}

interface Growing {
  readonly changes: Change[];
  reachUs: number;
  bits: number;
}

/** A change of pace is the end of one and the start of another, told as one. */
const ownBits = (change: Change, lengthUs: number): number =>
  change.kind === 'pace' ? savedBits(0, change, lengthUs) : 0;

/** Changes that tell of each other, one after the other; each group with the bits it saves. */
function groupChanges(changes: readonly Change[], lengthUs: number): Growing[] {
  const groups: Growing[] = [];
  for (const change of changes) {
    const last = groups.at(-1);
    const gain = last ? savedBits(change.fromUs - last.reachUs, change, lengthUs) : 0;
    const reachUs = Math.min(change.toUs, change.atUs + REACH_US);
    if (last && gain > 0) {
      last.changes.push(change);
      last.bits += gain + ownBits(change, lengthUs);
      last.reachUs = Math.max(last.reachUs, reachUs);
    } else groups.push({ changes: [change], reachUs, bits: ownBits(change, lengthUs) });
  }
  return groups;
}

/** Identifiers that are in another state after the turn than before it: lost frames stop and start the same ones. */
function lasting(changes: readonly Change[]): Change[] {
  const net = new Map<number, number>();
  for (const { activity, kind } of changes) {
    const by = kind === 'start' ? 1 : kind === 'stop' ? -1 : 0;
    net.set(activity, (net.get(activity) ?? 0) + by);
  }
  return changes.filter(({ activity, kind }) => kind === 'pace' || net.get(activity) !== 0);
}

/**
 * Turns of the vehicle, in time order. Cost: the changes, of which there are few.
 * @param recorded the whole capture @param recordedOf what a bus's own logger recorded: at its edges nothing starts or stops
 */
export function findTurns(
  activities: readonly Activity[],
  recorded: Recorded,
  recordedOf: (bus: string) => Recorded = () => recorded,
): Turn[] {
  const least = SURE_BITS + Math.log2(activities.length + 1);
  const lengthUs = recorded.toUs - recorded.fromUs;
  const last = groupChanges(changesOf(activities, recordedOf), lengthUs).flatMap(({ changes }) => lasting(changes));
  return groupChanges(last, lengthUs).flatMap(({ changes, bits }): Turn[] => {
    const everyone = new Set(changes.map(({ activity }) => activity)).size === activities.length;
    if (bits < least && !everyone) return [];
    const at = changes.map(({ atUs }) => atUs);
    return [{ fromUs: Math.min(...at), toUs: Math.max(...at), changes }];
  });
}
