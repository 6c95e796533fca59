/** Frames parted into those that go out and those that stay, and how each may be released. Pure. */
import {
  chooseFrames,
  commandsIn,
  isDiagnostic,
  releasedKeys,
  type GoingFrame,
  type KeptOutFrame,
  type SendingForm,
} from '../../../../handover/sending/choice.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../../../map/schema.ts';

export interface Choosing {
  readonly going: readonly GoingFrame[];
  /** A person may release them, one by one. */
  readonly waiting: readonly KeptOutFrame[];
  readonly never: readonly KeptOutFrame[];
  /** Released, and yet not to be sent in this form, or not in the map any more. */
  readonly idle: readonly string[];
}

/** @param release keys of frames, or names */
export function choosing(map: SignalMap, release: readonly string[], form: SendingForm): Choosing {
  const told = release.map((name) => ({ name, keys: releasedKeys(map, [name], form) }));
  const keys = new Set(told.flatMap(({ keys: found }) => (found.ok ? [...found.value] : [])));
  const { going, keptOut } = chooseFrames(map, keys, form);
  return {
    going,
    waiting: keptOut.filter(({ releasable }) => releasable),
    never: keptOut.filter(({ releasable }) => !releasable),
    idle: told.filter(({ keys: found }) => !found.ok).map(({ name }) => name),
  };
}

/** What may move the machine, switch its battery or start a routine is released by its name in letters; of another frame a press on its own button is enough. */
export const needsItsName = (frame: MapFrame): boolean => commandsIn(frame).length > 0 || isDiagnostic(frame);

/** As a release is kept: the name where only one frame has it, else bus and identifier. */
export function releaseName({ frames }: SignalMap, frame: MapFrame): string {
  const isOnly = frame.name !== '' && frames.filter(({ name }) => name === frame.name).length === 1;
  return isOnly ? frame.name : frameKey(frame);
}

/** Without the releases of this frame, however they name it. */
export const withoutRelease = (release: readonly string[], frame: MapFrame): string[] =>
  release.filter((name) => name !== frame.name && name !== frameKey(frame));
