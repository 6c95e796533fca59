/** What the buttons and keys of Captures do. */
import { useComparisonChoice } from '../../comparison/store.ts';
import { pickFiles } from '../../shell/files.ts';
import { takeFiles } from '../../shell/taking.ts';
import { stopReading } from '../../stores/reading.ts';
import { useCaptures } from '../../stores/captures.ts';

export async function pickAndTake(captureId: string | null): Promise<void> {
  await takeFiles(await pickFiles('', true), captureId);
}

export function stopAll(): void {
  for (const { id, phase } of useCaptures.getState().open)
    if (phase === 'reading' || phase === 'waiting') stopReading(id);
}

export function toggleComparison(): void {
  const { shown, show } = useComparisonChoice.getState();
  show(!shown);
}
