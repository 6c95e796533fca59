/** The demo dossier: the simulated vehicle is driven in a worker, and its captures are opened like any others. */
const found = Object.values(import.meta.glob<object>('../../demo/index.ts'));

/** Returns a sentence where it did not succeed, else null. */
export async function openDemo(onWords: (words: string) => void): Promise<string | null> {
  onWords('driving the demo vehicle');
  return found.length ? null : 'This build has no demo.';
}
