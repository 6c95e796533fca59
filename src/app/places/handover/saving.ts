/** Saving and copying what Handover shows. The map goes through the schema first; what helps to send waits for the cautions. */
import { zipSync } from 'fflate';
import type { Handover, HandoverFile } from '../../../handover/handover-files.ts';
import { describeProblem } from '../../../kit/outcome.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { fileStem, saveAs } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { bytes } from '../../../kit/sheet-figures.ts';
import { makeHandover, type Output } from './outputs.ts';
import { useHandover, wordsOf } from './store.ts';
import { textOf } from './use-map.ts';

const now = (): string => new Date().toISOString().replace(/\.\d+Z$/, 'Z');

const stemOf = (map: SignalMap): string => fileStem(map.part.title, 'donor-part');
export const mapFileName = (map: SignalMap): string => `${stemOf(map)}.signal-map.json`;
export const allFileName = (map: SignalMap): string => `${stemOf(map)}.handover.zip`;

function mapText(map: SignalMap): string | null {
  const text = textOf(map, now());
  if (text.ok) return text.value;
  const why = text.problems.slice(0, 2).map(describeProblem).join(' ');
  say(`The map was not saved, it does not hold to its schema: ${why}`);
  return null;
}

function saveMap(map: SignalMap): void {
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

/** Brings the person to the cautions unless they were read. */
function areRead(cautions: readonly string[]): boolean {
  if (useHandover.getState().read === wordsOf(cautions)) return true;
  document.querySelector<HTMLElement>('.handover-read input')?.focus();
  say('Read the cautions first, and tick that you have: this can set something moving.');
  return false;
}

const save = ({ name, mime, bytes: content }: HandoverFile): void =>
  saveAs(name, content as Uint8Array<ArrayBuffer>, mime);

export function saveOutput(map: SignalMap, handover: Handover, output: Output): void {
  if (output.name === 'map') return saveMap(map);
  if (output.sends && !areRead(handover.cautions)) return;
  for (const file of output.files) save(file);
  say(`${output.files.map(({ name }) => name).join(' and ')} saved.`);
}

/** Everything in one file, made anew so that the moment of saving stands in it. */
export function saveAll(map: SignalMap, cautions: readonly string[]): void {
  if (!areRead(cautions) || mapText(map) === null) return;
  const { files } = makeHandover({ ...map, made: { ...map.made, at: now() } });
  const zipped = zipSync(Object.fromEntries(files.map((file) => [file.name, file.bytes])));
  saveAs(allFileName(map), zipped as Uint8Array<ArrayBuffer>, 'application/zip');
  say(`${allFileName(map)} saved: ${files.length} files, ${bytes(zipped.length)}.`);
}
