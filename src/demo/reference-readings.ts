/**
 * Known quantities beside the capture: a satellite receiver's speed once a second (late, noisy, with a hole, and not quite
 * the wheels' idea of speed), and a few readings of hand-held meters at the pack.
 */
import { createRandom, type Random } from '../kit/random.ts';
import type { Truth } from './physics/simulate.ts';
import type { QuantityName } from './quantities.ts';

export interface ReferenceRow {
  /** Epoch seconds. */
  readonly timeS: number;
  readonly satelliteSpeed: number | null;
  readonly packVoltage: number | null;
  readonly packCurrent: number | null;
}

export interface ReferenceOptions {
  readonly startEpochS: number;
  readonly seed: number;
  /** Meter readings of voltage and current. */
  readonly readings: number;
}

/** True speed over wheel-based speed: worn tyres make wheels turn faster than the road passes. */
export const TYRE_FACTOR = 0.982;
/** The receiver reports what was so long ago. */
export const SATELLITE_DELAY_S = 0.35;
const SPEED_NOISE_KMH = 0.12;

function at(truth: Truth, quantity: QuantityName, timeS: number): number {
  const step = Math.max(0, Math.min(truth.steps - 1, Math.round(timeS / truth.stepS)));
  return truth.columns[quantity][step] as number;
}

const round = (value: number, step: number): number => Math.round(value / step) * step;

function satelliteRows(truth: Truth, options: ReferenceOptions, random: Random): ReferenceRow[] {
  const durationS = truth.steps * truth.stepS;
  const holeFromS = durationS * random.between(0.5, 0.6);
  const rows: ReferenceRow[] = [];
  for (let timeS = 4.37; timeS < durationS; timeS += 1) {
    if (timeS > holeFromS && timeS < holeFromS + 7) continue;
    const true_ = at(truth, 'vehicle_speed', timeS - SATELLITE_DELAY_S) * TYRE_FACTOR;
    const seen =
      true_ === 0 ? Math.abs(0.08 * random.normal()) : Math.max(0, true_ + SPEED_NOISE_KMH * random.normal());
    rows.push({
      timeS: options.startEpochS + timeS,
      satelliteSpeed: round(seen, 0.01),
      packVoltage: null,
      packCurrent: null,
    });
  }
  return rows;
}

/** Moments in which the current hardly moves for half a second: only then can two meters be read together. */
function calmMoments(truth: Truth, random: Random, wanted: number): number[] {
  const moments: number[] = [];
  for (let tries = 0; tries < 4000 && moments.length < wanted; tries++) {
    const timeS = random.between(0.05, 0.98) * truth.steps * truth.stepS;
    if (at(truth, 'contactor_state', timeS) !== 3) continue;
    const around = [-0.3, -0.15, 0, 0.15, 0.3].map((shift) => at(truth, 'pack_current', timeS + shift));
    const calm = Math.max(...around) - Math.min(...around) < 1.5 + 0.04 * Math.abs(around[2] as number);
    const differs = moments.every((other) => Math.abs(at(truth, 'pack_current', other) - (around[2] as number)) > 2.5);
    if (calm && (differs || random.next() < 0.01)) moments.push(timeS);
  }
  return moments.sort((a, b) => a - b);
}

export function takeReferences(truth: Truth, options: ReferenceOptions): readonly ReferenceRow[] {
  const random = createRandom(options.seed).fork('reference');
  const meters = calmMoments(truth, random, options.readings).map((timeS): ReferenceRow => ({
    timeS: options.startEpochS + timeS,
    satelliteSpeed: null,
    packVoltage: round(at(truth, 'pack_voltage', timeS) + 0.15 * random.normal(), 0.1),
    packCurrent: round(at(truth, 'pack_current', timeS) + 0.25 * random.normal(), 0.1),
  }));
  return [...satelliteRows(truth, options, random), ...meters].sort((a, b) => a.timeS - b.timeS);
}

export function referenceCsv(rows: readonly ReferenceRow[]): string {
  const cell = (value: number | null, digits: number): string => (value === null ? '' : value.toFixed(digits));
  const lines = rows.map((row) =>
    [row.timeS.toFixed(3), cell(row.satelliteSpeed, 2), cell(row.packVoltage, 1), cell(row.packCurrent, 1)].join(','),
  );
  return ['time,satellite_speed [km/h],pack_voltage [V],pack_current [A]', ...lines].join('\n') + '\n';
}
