/** Drives the demo vehicle away from the page: answers with the capture files and the dossier that names them. */
import { demoDossier } from '../../demo/dossier.ts';
import { makeDemo, writeDemo } from '../../demo/demo-files.ts';
import { part } from '../../kit/control.ts';

export type DemoMessage =
  | { readonly kind: 'progress'; readonly share: number; readonly note: string }
  | {
      readonly kind: 'done';
      readonly files: readonly { readonly name: string; readonly bytes: Uint8Array }[];
      readonly dossier: unknown;
    }
  | { readonly kind: 'failed'; readonly words: string };

const post = (message: DemoMessage, transfer: Transferable[] = []): void => postMessage(message, { transfer });
const control = {
  onProgress: ({ share, note }: { share: number; note: string }) => post({ kind: 'progress', share, note }),
};

try {
  const demo = await makeDemo({}, part(control, 0, 0.6));
  const files = await writeDemo(demo, part(control, 0.6, 1));
  const dossier = demoDossier(demo, files);
  const sent = files.map(({ name, bytes }) => ({ name, bytes }));
  post(
    { kind: 'done', files: sent, dossier },
    sent.map(({ bytes }) => bytes.buffer as ArrayBuffer),
  );
} catch (error) {
  post({ kind: 'failed', words: error instanceof Error ? error.message : String(error) });
}
