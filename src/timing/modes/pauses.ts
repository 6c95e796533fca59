/**
 * Whether a silence of a whole bus was the vehicle's or the logger's. Across a pause of the logger senders go on unheard: their grids hold
 * their phase and their counters have moved. Asleep they stop one after the other, and begin anew at phases of their own. Each identifier
 * whose grid is tight enough to tell gives a log likelihood ratio: its phase after the silence against that before, normal about 0
 * if it went on, anywhere in the period if not. Counters are judged with the clock's health and weigh like several of those.
 */
import type { FrameTable } from '../../frames/table.ts';
import type { ClockPause } from '../clock/losses.ts';
import { median } from '../robust.ts';
import { wrapped } from '../wrapped.ts';
import type { Activity, Spell } from './activity.ts';

export interface Silence {
  readonly bus: string;
  readonly fromUs: number;
  readonly toUs: number;
  /** Who fell silent, by the counters across it; 'clock': nobody did, stamps leapt. */
  readonly who: ClockPause['who'];
}

/** Frames on either side that the phase is taken from. */
const PHASE_FRAMES = 8;
/** What a period known from minutes may be off by, and what a clock drifts meanwhile. */
const PERIOD_PPM = 3;
/** A phase known no better than this share of the period tells nothing. */
const PHASE_TELLS = 1 / 8;
/** Share of identifiers that may be wrong about their phase: timers that start anew, grids misread. */
const STRAY = 0.05;
/** Nats that counters weigh. */
const COUNTERS_WEIGH = 12;
/** Periods by which one identifier must have fallen silent before the others, or come after them, to be staggered. */
const STAGGER_PERIODS = 3;
const STAGGERED_WEIGHS = 2;
/** Longer before, and it was another event. */
const STAGGER_WITHIN_US = 15e6;

/** Median phase of up to PHASE_FRAMES frames from row `from` on, as an offset from the first. */
function phaseOf(timeUs: Float64Array, from: number, to: number, periodUs: number): number {
  const first = timeUs[from] as number;
  const off = timeUs.slice(from, to).map((us) => wrapped(us - first, periodUs));
  return first + median(off);
}

/** Natural logarithm of how much likelier the phase is if the sender went on; 0 where it cannot tell. */
function phaseSays(timeUs: Float64Array, before: Spell, after: Spell, { periodUs, jitterUs }: Activity): number {
  const beforeUs = phaseOf(timeUs, Math.max(before.fromRow, before.toRow - PHASE_FRAMES), before.toRow, periodUs);
  const afterUs = phaseOf(timeUs, after.fromRow, Math.min(after.toRow, after.fromRow + PHASE_FRAMES), periodUs);
  const passedUs = afterUs - beforeUs;
  const off = wrapped(passedUs, periodUs);
  const sd = Math.hypot(jitterUs, 1e-6 * PERIOD_PPM * passedUs, 0.002 * periodUs);
  if (sd > PHASE_TELLS * periodUs) return 0;
  const wentOn = Math.exp(-0.5 * (off / sd) ** 2) / (sd * Math.sqrt(2 * Math.PI));
  return Math.log((1 - STRAY) * wentOn * periodUs + STRAY);
}

/** What one identifier says of a silence: above 0 for a pause of the logger, below for sleep. */
function says(table: FrameTable, activity: Activity, { fromUs, toUs }: Silence): number {
  const { spells, periodUs } = activity;
  const slackUs = STAGGER_PERIODS * periodUs;
  const before = spells.filter((spell) => spell.toUs <= fromUs + 1 && fromUs - spell.toUs < STAGGER_WITHIN_US).at(-1);
  const after = spells.find((spell) => spell.fromUs >= toUs - 1 && spell.fromUs - toUs < STAGGER_WITHIN_US);
  const early = before && fromUs - before.toUs > slackUs;
  const late = after && before && after.fromUs - toUs > slackUs;
  if (early || late) return -STAGGERED_WEIGHS;
  if (!before || !after) return 0;
  const usual = (spell: Spell): boolean => Math.abs(spell.periodUs / periodUs - 1) < 0.05;
  if (!usual(before) || !usual(after)) return -STAGGERED_WEIGHS;
  return phaseSays((table.streams[activity.stream] as FrameTable['streams'][number]).timeUs, before, after, activity);
}

/** Nats by which a pause of the logger is likelier than sleep; 0: nothing tells. */
export function pauseEvidence(table: FrameTable, activities: readonly Activity[], silence: Silence): number {
  const counters = { logger: COUNTERS_WEIGH, clock: COUNTERS_WEIGH, bus: -COUNTERS_WEIGH, unknown: 0 }[silence.who];
  return activities
    .filter(({ bus }) => bus === silence.bus)
    .reduce((sum, activity) => sum + says(table, activity, silence), counters);
}

/** Periods heard between two pauses, at most, that are too few to be a spell: what is left of a silence when its pauses are taken out. */
const LEFT_PERIODS = 8;

/** Spells of the same pace on both sides of a pause, or of several close together, are one: nothing stopped. */
export function bridgePauses(activity: Activity, pauses: readonly Silence[]): Activity {
  const own = pauses.filter(({ bus }) => bus === activity.bus);
  const pausedUs = (fromUs: number, toUs: number): number =>
    own.reduce((sum, pause) => sum + Math.max(0, Math.min(toUs, pause.toUs) - Math.max(fromUs, pause.fromUs)), 0);
  const spells: Spell[] = [];
  for (const spell of activity.spells) {
    const last = spells[spells.length - 1];
    const paused = last ? pausedUs(last.toUs, spell.fromUs) : 0;
    const isBridged =
      last !== undefined &&
      paused > 0 &&
      Math.abs(last.periodUs / spell.periodUs - 1) < 0.05 &&
      spell.fromUs - last.toUs - paused <= LEFT_PERIODS * spell.periodUs;
    if (isBridged) spells[spells.length - 1] = { ...last, toUs: spell.toUs, toRow: spell.toRow };
    else spells.push(spell);
  }
  return { ...activity, spells };
}
