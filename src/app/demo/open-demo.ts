/** The demo dossier: the simulated vehicle is driven in a worker, and its captures are opened like any others. */
import { dossierSchema } from '../../jobs/dossier.ts';
import { useDossier } from '../stores/dossier.ts';
import { keepFile } from '../stores/storage.ts';
import { holdFile } from '../stores/reading.ts';
import { percent } from '../../kit/sheet-figures.ts';
import type { DemoMessage } from './demo-worker.ts';

function drive(onWords: (words: string) => void): Promise<Extract<DemoMessage, { kind: 'done' }>> {
  const worker = new Worker(new URL('./demo-worker.ts', import.meta.url), { type: 'module', name: 'demo' });
  return new Promise<Extract<DemoMessage, { kind: 'done' }>>((resolve, reject) => {
    worker.addEventListener('error', (event) => reject(new Error(event.message || 'the demo vehicle broke down')));
    worker.addEventListener('message', ({ data }: MessageEvent<DemoMessage>) => {
      if (data.kind === 'progress') onWords(`${data.note}, ${percent(data.share)}`);
      else if (data.kind === 'done') resolve(data);
      else reject(new Error(data.words));
    });
  }).finally(() => worker.terminate());
}

/** Returns a sentence where it did not succeed, else null. */
export async function openDemo(onWords: (words: string) => void): Promise<string | null> {
  try {
    const { files, dossier: json } = await drive(onWords);
    const dossier = dossierSchema.parse(json);
    const wanted = new Set(dossier.captures.flatMap((capture) => capture.files.map(({ name }) => name)));
    for (const { name, bytes } of files.filter((file) => wanted.has(file.name))) {
      const file = new File([bytes as Uint8Array<ArrayBuffer>], name);
      holdFile({ name, blob: file });
      await keepFile({ name, blob: file });
    }
    useDossier.getState().open(dossier, 'open the demo dossier');
    return null;
  } catch (error) {
    return `The demo could not be opened: ${error instanceof Error ? error.message : String(error)}.`;
  }
}
