/** Saving and copying what Handover shows. The map goes through the schema first; what helps to send waits for the cautions. */
import { zipSync } from 'fflate';
import { cautionsFor } from '../../../handover/cautions.ts';
import type { Handover, HandoverFile, HandoverOptions } from '../../../handover/handover-files.ts';
import { describeProblem } from '../../../kit/outcome.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { fileStem, saveAs } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { bytes } from '../../../kit/sheet-figures.ts';
import { makeHandover, makeMapText } from './making/making.ts';
import { filesOf } from './making/use-made.ts';
import type { OutputDefinition } from './output.ts';
import { useHandover, wordsOf } from './store.ts';

const now = (): string => new Date().toISOString().replace(/\.\d+Z$/, 'Z');

const stemOf = (map: SignalMap): string => fileStem(map.part.title, 'donor-part');
export const mapFileName = (map: SignalMap): string => `${stemOf(map)}.signal-map.json`;
export const allFileName = (map: SignalMap): string => `${stemOf(map)}.handover.zip`;

const failed = (error: unknown): void =>
  say(`Nothing was saved: ${error instanceof Error ? error.message : String(error)}`);

/** As it is now, with the moment of saving in it. */
const dated = (map: SignalMap): SignalMap => ({ ...map, made: { ...map.made, at: now() } });

/** null, and said, where it does not come back whole through its schema. */
async function mapText(map: SignalMap, options: HandoverOptions): Promise<string | null> {
  try {
    const text = await makeMapText({ map: dated(map), options });
    if (text.ok) return text.value;
    const why = text.problems.slice(0, 2).map(describeProblem).join(' ');
    say(`The map was not saved, it does not hold to its schema: ${why}`);
  } catch (error) {
    failed(error);
  }
  return null;
}

export async function saveMap(map: SignalMap, options: HandoverOptions): Promise<void> {
  const text = await mapText(map, options);
  if (text === null) return;
  saveAs(mapFileName(map), text, 'application/json');
  say(`${mapFileName(map)} saved, ${bytes(text.length)}.`);
}

export async function copyMap(map: SignalMap, options: HandoverOptions): Promise<void> {
  const text = await mapText(map, options);
  if (text === null) return;
  try {
    await navigator.clipboard.writeText(text);
    say('The map is on the clipboard.');
  } catch {
    say('This browser did not let the page copy: save the file instead.');
  }
}

export function goToCautions(): void {
  const box = document.querySelector<HTMLElement>('.handover-read input');
  box?.focus();
  box?.scrollIntoView({ block: 'nearest' });
}

/** Brings the person to the cautions unless they were read. */
function areRead(cautions: readonly string[]): boolean {
  if (useHandover.getState().read === wordsOf(cautions)) return true;
  goToCautions();
  say('Read the cautions first, and tick that you have: this can set something moving.');
  return false;
}

const save = ({ name, mime, bytes: content }: HandoverFile): void =>
  saveAs(name, content as Uint8Array<ArrayBuffer>, mime);

/** Made anew, so that the moment of saving stands in it; null, and said, where that failed. */
async function madeNow(map: SignalMap, options: HandoverOptions): Promise<Handover | null> {
  try {
    return await makeHandover({ map: dated(map), options });
  } catch (error) {
    failed(error);
    return null;
  }
}

export async function saveOutput(map: SignalMap, options: HandoverOptions, output: OutputDefinition): Promise<void> {
  if (output.save) return output.save(map, options);
  if (output.sends && !areRead(cautionsFor(map, options.release))) return;
  const made = await madeNow(map, options);
  // What was made is what was read about: it may have more to warn of.
  if (!made || (output.sends && !areRead(made.cautions))) return;
  const files = filesOf(made, output.files);
  for (const file of files) save(file);
  say(`${files.map(({ name }) => name).join(', ')} saved.`);
}

/** Everything in one file. */
export async function saveAll(map: SignalMap, options: HandoverOptions): Promise<void> {
  if (!areRead(cautionsFor(map, options.release)) || (await mapText(map, options)) === null) return;
  const made = await madeNow(map, options);
  if (!made || !areRead(made.cautions)) return;
  const zipped = zipSync(Object.fromEntries(made.files.map((file) => [file.name, file.bytes])));
  saveAs(allFileName(map), zipped as Uint8Array<ArrayBuffer>, 'application/zip');
  say(`${allFileName(map)} saved: ${made.files.length} files, ${bytes(zipped.length)}.`);
}
