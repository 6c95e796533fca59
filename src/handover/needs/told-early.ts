/** What cannot be produced, said of a capture as soon as it has been surveyed, and again when its fields are known: before anything is cut or built. */
import { runSteps } from '../../frames/pictures/steps.ts';
import type { FrameTable } from '../../frames/table.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { MapFrame } from '../../map/schema.ts';
import type { Survey } from '../../timing/types.ts';
import { cannotBeProduced, type CannotBeProduced } from './cannot-be-produced.ts';
import { exchangesSeen } from './observe/observe.ts';
import type { FrameKey } from './types.ts';

type Found = FrameKey & Pick<MapFrame, 'checksums'>;

/** @param found guards of its frames, where fields were looked for; without them only pairing and unlocking are told. */
export function toldEarly(table: FrameTable, survey: Survey, found: readonly Found[] = []): CannotBeProduced[] {
  const names = new Map(survey.groups.map(({ group, name }) => [group, name ?? '']));
  const checksums = new Map(found.map((frame) => [frameKey(frame), frame.checksums]));
  const frames = survey.frames
    .filter(({ direction }) => direction === 'received')
    .map(({ bus, id, extended, group, groupConfidence }) => ({
      bus,
      id,
      extended,
      checksums: checksums.get(frameKey({ bus, id, extended })) ?? [],
      sender: group === null ? null : { group, name: names.get(group) ?? '', confidence: groupConfidence ?? 0 },
    }));
  return cannotBeProduced(frames, [runSteps(exchangesSeen(table, survey))]);
}
