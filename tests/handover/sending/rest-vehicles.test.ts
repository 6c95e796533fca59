/**
 * Whether frames bear out rest, on simulated vehicles: every stretch in park with no foot on a pedal is believed, and no two seconds with a pedal, a gear or the
 * charger are. Seeds and profiles in the titles; maps are the true ones, so the names are those of the simulation.
 */
import { expect, it } from 'vitest';
import { MODE, SELECTOR } from '../../../src/demo/physics/state.ts';
import { recordDrive, type Drive } from '../../../src/demo/record.ts';
import { tableOf } from '../../../src/demo/recording/to-table.ts';
import { writeScript } from '../../../src/demo/script.ts';
import { completeMap } from '../../../src/demo/true-map.ts';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import { checkRest } from '../../../src/handover/sending/rest-check.ts';
import type { Span } from '../../../src/handover/sending/rest-spans.ts';
import { createRandom } from '../../../src/kit/random.ts';

const column = ({ truth }: Drive, name: string, step: number): number =>
  (truth.columns as Record<string, ArrayLike<number>>)[name]?.[step] ?? 0;

function isStill(drive: Drive, step: number): boolean {
  const mode = column(drive, 'vehicle_mode', step);
  return (
    (mode === MODE.ready || mode === MODE.on) &&
    column(drive, 'selector', step) === SELECTOR.P &&
    ['accelerator', 'brake_pressed', 'regen_paddle'].every((name) => column(drive, name, step) === 0)
  );
}

const isBusy = (drive: Drive, step: number): boolean =>
  column(drive, 'accelerator', step) > 0.15 ||
  column(drive, 'brake_pressed', step) > 0 ||
  column(drive, 'selector', step) !== SELECTOR.P ||
  column(drive, 'vehicle_mode', step) === MODE.charging;

/** Seconds of the recording at a step of the truth. */
const atS = ({ truth, recording }: Drive, step: number): number =>
  step * truth.stepS - (recording.timeUs[0] ?? 0) / 1e6;

/** Stretches of at least a second, clear of what the bus tells a moment later. */
function stillSpans(drive: Drive): Span[] {
  const spans: Span[] = [];
  let from = -1;
  for (let step = 0; step <= drive.truth.steps; step++) {
    const still = step < drive.truth.steps && isStill(drive, step);
    if (still && from < 0) from = step;
    if (still || from < 0) continue;
    spans.push({ fromS: atS(drive, from) + 0.6, toS: atS(drive, step) - 0.2 });
    from = -1;
  }
  return spans.filter(({ fromS, toS }) => toS - fromS >= 1);
}

function isBusyWithin(drive: Drive, { fromS, toS }: Span): boolean {
  return Array.from({ length: drive.truth.steps }, (_, step) => step).some(
    (step) => atS(drive, step) > fromS + 0.3 && atS(drive, step) < toS - 0.3 && isBusy(drive, step),
  );
}

it.each([
  ['plain', 731],
  ['paged', 732],
  ['fd', 733],
] as const)('%s, seed %i', (profile, seed) => {
  const drive = recordDrive(vehicleFor(profile, seed), writeScript(seed, { durationS: 130, charges: true }));
  const table = tableOf(drive.recording);
  const map = completeMap(drive.recording, 'drive', [], null);
  const spans = stillSpans(drive);
  expect(spans.length).toBeGreaterThan(0);
  expect(spans.map((span) => checkRest(table, map, span).against)).toEqual(spans.map(() => null));
  const random = createRandom(seed);
  const windows = Array.from({ length: 30 }, () => random.between(2, 125)).map((fromS) => ({ fromS, toS: fromS + 2 }));
  const busy = windows.filter((span) => isBusyWithin(drive, span));
  expect(busy.length).toBeGreaterThan(15);
  expect(busy.filter((span) => checkRest(table, map, span).against === null)).toEqual([]);
});
