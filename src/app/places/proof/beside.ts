/** What was marked and measured beside a capture, for the map that is held against it: each with its own clock. */
import { useMemo } from 'react';
import type { DossierCapture } from '../../../jobs/dossier.ts';
import type { ProofInput } from '../../../proof/hold/types.ts';
import { markFile } from '../../stores/marks-clock.ts';
import { fileOf } from '../signals/references.ts';

type Beside = Pick<ProofInput, 'marks' | 'reference'>;

/** Readings from a file before those typed at the cursor; null: there are none, or no capture. */
export function useBeside(entry: DossierCapture | null): Beside {
  const { marks, markTimeBase, markOffset = 'auto', references } = entry ?? {};
  const referenceOffset: 'auto' | number = entry?.referenceOffset ?? 'auto';
  const marked = useMemo(
    () => (marks?.length && markTimeBase ? { file: markFile({ marks, markTimeBase }), offset: markOffset } : null),
    [marks, markTimeBase, markOffset],
  );
  const measured = useMemo(() => {
    const first = references?.find(({ from }) => from === 'file') ?? references?.[0];
    return first && references ? { file: fileOf(references, first), offset: referenceOffset } : null;
  }, [references, referenceOffset]);
  return { marks: marked, reference: measured };
}

/** In a form that can be compared: of arrays of numbers only their values count. */
export const besideKey = ({ marks, reference }: Beside): unknown => ({
  marks,
  offset: reference?.offset,
  base: reference?.file.timeBase,
  series: reference?.file.series.map(({ name, unit, timeS, value }) => [name, unit, [...timeS], [...value]]),
});
