/**
 * One simulated vehicle, driven, recorded, marked and measured, with what is true of it: which fields answer an action
 * directly, which field is a reference's own, and the offset of the operator's clock. Fields are placed as
 * the true map has them, so that a score speaks of the statistics alone.
 */
import { observeMarks, type OperatorMark } from '../../../src/demo/marks.ts';
import { recordDrive, type Drive } from '../../../src/demo/record.ts';
import { tableOf } from '../../../src/demo/recording/to-table.ts';
import { takeReferences, type ReferenceRow } from '../../../src/demo/reference-readings.ts';
import { writeScript } from '../../../src/demo/script.ts';
import type { QuantityName } from '../../../src/demo/quantities.ts';
import type { Vehicle } from '../../../src/demo/true-frame.ts';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import type { ProfileName } from '../../../src/demo/profiles.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { createRandom } from '../../../src/kit/random.ts';
import type { ProposedFrame } from '../../../src/map/proposed-fields.ts';
import type { MapSignal } from '../../../src/map/schema.ts';

export const START_EPOCH_S = 1_773_043_272;
/** Mean of the operator's reaction in the simulation, seconds. */
export const MEAN_REACTION_S = 0.3;

export interface EvidenceCase {
  readonly vehicle: Vehicle;
  readonly drive: Drive;
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly marks: readonly OperatorMark[];
  readonly references: readonly ReferenceRow[];
  /** Capture time = mark time + this, on the marks' epoch less the capture's. */
  readonly trueOffsetS: number;
}

/** Fields as the true map places them; diagnostics are left out, as they are from the search for signals. */
export function trueFindings(vehicle: Vehicle): ProposedFrame[] {
  return vehicle.frames
    .filter(({ diagnostic }) => diagnostic === null)
    .map(({ map }): ProposedFrame => ({
      bus: map.bus,
      id: map.id,
      extended: map.extended,
      direction: 'received',
      selectors: map.selectors,
      fields: map.signals,
    }));
}

export function makeCase(profile: ProfileName, seed: number, durationS: number): EvidenceCase {
  const random = createRandom(seed).fork('case');
  const vehicle = vehicleFor(profile, seed);
  const script = writeScript(seed, { durationS });
  const drive = recordDrive(vehicle, script, { startEpochS: START_EPOCH_S, seed });
  const aheadS = random.between(-15, 15);
  return {
    vehicle,
    drive,
    table: tableOf(drive.recording),
    findings: trueFindings(vehicle),
    marks: observeMarks(script, { startEpochS: START_EPOCH_S, aheadS, missed: 1, extra: 1, seed }),
    references: takeReferences(drive.truth, { startEpochS: START_EPOCH_S, seed, readings: 9 }),
    trueOffsetS: -aheadS - MEAN_REACTION_S,
  };
}

interface Place {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly field: string;
}

/** What a field really is, or null for what is no quantity of the physics. */
export function quantityAt(vehicle: Vehicle, place: Place): QuantityName | null {
  const frame = vehicle.frames.find(
    ({ map }) => map.bus === place.bus && map.id === place.id && map.extended === place.extended,
  );
  const source = frame?.fields.find(({ name }) => name === place.field)?.source;
  return source?.from === 'physics' ? source.quantity : null;
}

export function trueSignal(vehicle: Vehicle, place: Place): MapSignal | null {
  const frame = vehicle.frames.find(
    ({ map }) => map.bus === place.bus && map.id === place.id && map.extended === place.extended,
  );
  return frame?.map.signals.find(({ name }) => name === place.field) ?? null;
}

/** Quantities that some field of the capture carries. */
export function sentQuantities(vehicle: Vehicle): Set<QuantityName> {
  return new Set(
    vehicle.frames
      .filter(({ diagnostic }) => diagnostic === null)
      .flatMap(({ fields }) => fields.flatMap(({ source }) => (source.from === 'physics' ? [source.quantity] : []))),
  );
}
