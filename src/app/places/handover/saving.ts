/** Saving and copying what Handover shows. The map goes through the schema first; what can move a machine waits for the cautions. */
import { describeProblem } from '../../../kit/outcome.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { fileStem, saveAs } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { bytes } from '../../words/format.ts';
import type { Caution } from './cautions.ts';
import { cFilesOf, stemOf } from './outputs.ts';
import { useHandover, wordsOf } from './store.ts';
import { textOf } from './use-map.ts';

const now = (): string => new Date().toISOString().replace(/\.\d+Z$/, 'Z');

export const mapFileName = (map: SignalMap): string =>
  `${fileStem(map.part.title, stemOf(map).replace(/_/g, '-'))}.signal-map.json`;

function mapText(map: SignalMap): string | null {
  const text = textOf(map, now());
  if (text.ok) return text.value;
  say(
    `The map was not saved, it does not hold to its schema: ${text.problems.slice(0, 2).map(describeProblem).join(' ')}`,
  );
  return null;
}

export function saveMap(map: SignalMap): void {
  const text = mapText(map);
  if (text === null) return;
  saveAs(mapFileName(map), text, 'application/json');
  say(`${mapFileName(map)} saved, ${bytes(text.length)}.`);
}

export async function copyMap(map: SignalMap): Promise<void> {
  const text = mapText(map);
  if (text === null) return;
  try {
    await navigator.clipboard.writeText(text);
    say('The map is on the clipboard.');
  } catch {
    say('This browser did not let the page copy: save the file instead.');
  }
}

export const areRead = (cautions: readonly Caution[]): boolean => useHandover.getState().read === wordsOf(cautions);

export function saveC(map: SignalMap, cautions: readonly Caution[]): void {
  if (!areRead(cautions)) {
    document.querySelector<HTMLElement>('.handover-read input')?.focus();
    return say('Read the cautions first, and tick that you have: the C source can set something moving.');
  }
  const { files } = cFilesOf(map, cautions);
  for (const { name, type, text } of files) saveAs(name, text, type);
  say(`${files.map(({ name }) => name).join(' and ')} saved.`);
}
