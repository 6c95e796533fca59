/** What the stamps of a capture can carry, as the survey says it: figures, and a verdict in words. */
import type { FrameTable } from '../../frames/table.ts';
import { grouped } from '../../kit/figures.ts';
import type { BusOrder } from '../bus-order.ts';
import type { BusRates, SurveyClock } from '../types.ts';
import { busBatches, stepOf, type BusBatching, type ClockHealth } from './health.ts';
import type { ClockJump } from './jumps.ts';
import { loggerSentence } from './loggers/logger-words.ts';
import type { ClockPause, FramesLost } from './losses.ts';

const stepWords = (us: number): string =>
  us >= 1000 ? `${Number((us / 1000).toPrecision(6))} ms` : `${Number(us.toPrecision(6))} us`;

const counted = (n: number, one: string, several = `${one}s`): string => `${grouped(n)} ${n === 1 ? one : several}`;

/** So many frames with the stamp of the one before, and order within a batch is lost. */
const SAME_STAMPS = 0.2;

function stampWords({ resolutionUs, tick }: ClockHealth): string {
  const written = `Stamps are multiples of ${stepWords(resolutionUs)}.`;
  return tick ? `${written} They count ticks of ${tick.words} (${grouped(tick.n)} distances).` : written;
}

/** A habit of the adapter rather than an exception. */
const BATCHED_SHARE = 0.3;

function batchWords({ bus, share, distanceUs, frames, framesMost }: BusBatching, several: boolean): string {
  const where = several ? ` on ${bus}` : '';
  const size = framesMost > frames ? `${frames} and up to ${framesMost} frames` : counted(frames, 'frame');
  const follow = `${Math.round(100 * share)} % of the frames${where} follow the one before faster than the wire carries them`;
  if (share < BATCHED_SHARE) return `${follow}: ${size} waited and were stamped together, so single stamps come late.`;
  return `${follow}: they were fetched in batches of ${size}, usually ${stepWords(distanceUs)} apart, and stamped then.`;
}

function carryWords(health: ClockHealth, same: number, batches: readonly BusBatching[], several: boolean): string[] {
  const words: string[] = [];
  const batched = batches.some(({ share }) => share >= BATCHED_SHARE);
  if (same >= SAME_STAMPS) {
    const shared = `${Math.round(100 * same)} % of the frames share the stamp of the one before`;
    words.push(
      batched
        ? `${shared}: they were delivered in batches, so periods hold on average, jitter and order within a batch do not.`
        : `${shared}: as many fit into one step of ${stepWords(stepOf(health))}. Periods hold on average; jitter below that step does not show.`,
    );
  }
  words.push(...batches.map((batch) => batchWords(batch, several)));
  if (same >= SAME_STAMPS || batched) return words;
  if (stepOf(health) > 100) return ['Good for periods; jitter below that step does not show.', ...words];
  return [words.length > 0 ? 'Good for periods, and for jitter mostly.' : 'Good for periods and jitter.', ...words];
}

const JUMPS_SHOWN = 3;

const signedMs = (s: number): string => `${s > 0 ? '+' : ''}${Number((1000 * s).toPrecision(3))} ms`;

function jumpWords(jumps: readonly ClockJump[], several: boolean): string[] {
  if (jumps.length === 0) return [];
  const one = ({ bus, atS, byS, moduloS, moved, heard }: ClockJump): string =>
    `${signedMs(byS)} (or as much as makes whole periods of ${stepWords(1e6 * moduloS)} with it) at ${atS.toFixed(3)} s${several ? ` on ${bus}` : ''}: ${moved} of ${heard} periodic identifiers move by just that`;
  const more = jumps.length > JUMPS_SHOWN ? `, and ${jumps.length - JUMPS_SHOWN} more` : '';
  return [
    `The clock itself jumped: ${jumps.slice(0, JUMPS_SHOWN).map(one).join('; ')}${more}. Intervals across that are not the vehicle's.`,
  ];
}

function pauseWords(pauses: readonly ClockPause[]): string[] {
  const by = (who: ClockPause['who']): ClockPause[] => pauses.filter((pause) => pause.who === who);
  const [logger, bus] = [by('logger'), by('bus')];
  const words: string[] = [];
  if (logger.length > 0) {
    const lost = logger.reduce((sum, pause) => sum + pause.lost, 0);
    words.push(
      `The logger paused ${counted(logger.length, 'time')}: counters went on meanwhile and miss ${counted(lost, 'frame')}.`,
    );
  }
  if (bus.length > 0) {
    words.push(
      `The bus itself was silent ${counted(bus.length, 'time')}, or stamps went forward by as much: counters went on where they had stopped.`,
    );
  }
  return words;
}

function lossWords(lost: FramesLost | null): string[] {
  if (!lost || lost.counters + lost.gridded === 0) return [];
  const parts: string[] = [];
  if (lost.counters > 0) {
    const share = lost.frames / Math.max(1, lost.frames + lost.counted);
    const rate = lost.frames > 0 ? ` (${Number((100 * share).toPrecision(2))} % of theirs)` : '';
    parts.push(`Frames lost: ${grouped(lost.frames)} by ${counted(lost.counters, 'counter')}${rate}.`);
    if (lost.inAll && lost.frames > lost.inPauses) {
      parts.push(
        `All identifiers together, pauses aside: about ${grouped(lost.inAll.frames)}, give or take ${grouped(2 * lost.inAll.se)}.`,
      );
    }
    if (lost.leftOut > 0) {
      parts.push(
        `${counted(lost.leftOut, 'frame')} more were left out by their senders or a gateway: other counters of the bus skip far less.`,
      );
    }
    if (lost.untold > 0) parts.push(`At ${counted(lost.untold, 'frame')} no number fits.`);
    if (lost.restarts > 0) parts.push(`Counters begin anew ${counted(lost.restarts, 'time')}.`);
  }
  if (lost.byTicks > 0) {
    parts.push(
      `${counted(lost.byTicks, 'tick')} without a frame on the grids of ${counted(lost.gridded, 'identifier')} without a counter: lost, or never sent.`,
    );
  }
  return parts;
}

function verdict(
  table: FrameTable,
  health: ClockHealth,
  same: number,
  events: number,
  batches: readonly BusBatching[],
): string {
  const { kind } = table.origin;
  if (kind === 'none') return 'The file has no stamps: frames are only numbered, and nothing may be said about time.';
  if (hasFewStamps(table)) return 'Too few different stamps to say how fine they are.';
  const several = table.buses.length > 1;
  const parts = [stampWords(health), ...carryWords(health, same, batches, several)];
  parts.push(...jumpWords(health.jumps, several), ...pauseWords(health.pauses), ...lossWords(health.lost));
  if (events > 0)
    parts.push(
      `The clock was repaired at ${events} ${events === 1 ? 'place' : 'places'}: intervals across them are guesses.`,
    );
  parts.push(...(table.loggers ?? []).map(loggerSentence));
  if (kind === 'time-of-day') parts.push('Stamps are times of day without a date.');
  return parts.join(' ');
}

const STAMPS_NEEDED = 3;

/** Whether there are fewer different stamps than a step can be told from. Ends at the third. */
function hasFewStamps(table: FrameTable): boolean {
  const seen = new Set<number>();
  for (const stream of table.streams) {
    for (let row = 0; row < stream.count && seen.size < STAMPS_NEEDED; row++) seen.add(stream.timeUs[row] as number);
  }
  return seen.size < STAMPS_NEEDED;
}

/** @param orders in the order of the table's buses */
export function describeClock(
  table: FrameTable,
  health: ClockHealth,
  orders: readonly BusOrder[],
  rates: BusRates,
): SurveyClock {
  const events = table.files.flatMap((file) => file.clockEvents);
  const { resolutionUs, tick, jumps, pauses, lost } = health;
  const same = orders.reduce((sum, order) => sum + order.sameStamps, 0) / Math.max(1, table.frameCount);
  const batches = busBatches(table, orders, rates, stepOf(health));
  return {
    kind: table.origin.kind,
    resolutionUs,
    tick,
    sameStampShare: same,
    batches,
    jumps,
    pauses,
    lost,
    loggers: table.loggers ?? [],
    events,
    outOfOrder: table.files.reduce((sum, file) => sum + file.outOfOrder, 0),
    verdict: verdict(table, health, same, events.length, batches),
  };
}
