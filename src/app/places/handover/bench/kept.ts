/**
 * The bench record as the dossier keeps it, and as it stands now. Until the first trial is on record its candidates follow the map, the plan and the
 * releases; from then on they stand, so that trials speak of one set of frames.
 */
import { z } from 'zod';
import { benchedMap } from '../../../../handover/bench/benched-map.ts';
import { benchState, type BenchState } from '../../../../handover/bench/next-step.ts';
import { newBench, withReleased } from '../../../../handover/bench/record.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import type { KeepAlivePlan } from '../../../../handover/needs/types.ts';
import type { Outcome } from '../../../../kit/outcome.ts';
import { releasedKeys } from '../../../../handover/sending/choice.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { useDossier } from '../../../stores/dossier.ts';

export interface BenchOf {
  /** With payloads at rest from a marked span, where there is one. */
  readonly map: SignalMap;
  readonly plan: KeepAlivePlan;
}

const namesSchema = z.array(z.string()).catch([]);

/** Releases that this map does not let out: of another capture, or of a part that was said since. They come back with their frame. */
export const idleReleases = (record: BenchRecord | undefined): readonly string[] =>
  namesSchema.parse(record?.['idleReleases']);

/** What a person gave is kept, whatever becomes of the candidates. */
export function recordNow(kept: BenchRecord | undefined, { map, plan }: BenchOf): BenchRecord {
  if (kept && kept.trials.length > 0) return kept;
  const all = [...new Set([...(kept?.released ?? []), ...idleReleases(kept)])];
  const release = all.filter((name) => releasedKeys(map, [name]).ok);
  const made = newBench(map, plan, { release });
  if (!made.ok) throw new Error('each of these releases was taken by itself');
  if (!kept) return made.value;
  const { candidates, heldBack, vehicle, part, released, plan: facts } = made.value;
  const idle = all.filter((name) => !release.includes(name));
  return { ...kept, part, candidates, heldBack, vehicle, released, plan: facts, idleReleases: idle };
}

/** Before the first trial: without these releases, however they stand. */
export function withoutReleases(record: BenchRecord, isGone: (name: string) => boolean): BenchRecord {
  const stays = (name: string): boolean => !isGone(name);
  return {
    ...record,
    released: record.released.filter(stays),
    idleReleases: idleReleases(record).filter(stays),
  };
}

/** @param label what was done, for undo */
export function keepBench(label: string, record: BenchRecord): void {
  useDossier.getState().change(label, (dossier) => ({ ...dossier, bench: record }));
}

/** One more frame that trials may send; bad where it never may. */
export function releasedNow(record: BenchRecord, { map, plan }: BenchOf, name: string): Outcome<BenchRecord> {
  return withReleased(record, map, plan, [name]);
}

const states = new WeakMap<BenchRecord, { readonly frames: SignalMap['frames']; readonly state: BenchState }>();
/** Once for a record and the frames of a map. */
export function stateOnce({ frames }: Pick<SignalMap, 'frames'>, record: BenchRecord): BenchState {
  const known = states.get(record);
  if (known?.frames === frames) return known.state;
  const state = benchState({ frames }, record);
  states.set(record, { frames, state });
  return state;
}

/** The person let what the bench showed into the map; kept with the record, so that undo takes it out again. */
export const isTaken = (record: BenchRecord | undefined): boolean => record?.['inMap'] === true;

export const takeIntoMap = (record: BenchRecord, isIn: boolean): void =>
  keepBench(isIn ? 'take the bench into the map' : 'take the bench out of the map', { ...record, inMap: isIn });

const benched = new WeakMap<SignalMap, { readonly record: BenchRecord; readonly map: SignalMap }>();
/** The map with what the bench showed, where the person took it. */
export function withBench(map: SignalMap, record: BenchRecord | undefined): SignalMap {
  if (!record || !isTaken(record) || record.trials.length === 0) return map;
  const known = benched.get(map);
  if (known?.record === record) return known.map;
  const told = benchedMap(map, record, stateOnce(map, record));
  benched.set(map, { record, map: told });
  return told;
}
