/** Files that can send, out of the page: several as one archive, so that the cautions stay with them. */
import { zipSync } from 'fflate';
import type { ExcerptAnswer } from '../../../../handover/sending/prepare.ts';
import { cautionText, type SendingFile } from '../../../../handover/sending/schedule-export.ts';
import { bytes, count } from '../../../../kit/sheet-figures.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { fileStem, saveAs } from '../../../shell/files.ts';
import { say } from '../../../shell/notices.ts';

const encoder = new TextEncoder();

export const sendingStem = ({ part }: SignalMap): string => fileStem(part.title, 'donor-part');

function saveZip(name: string, files: Readonly<Record<string, Uint8Array>>): void {
  const zipped = zipSync(files);
  saveAs(name, zipped as Uint8Array<ArrayBuffer>, 'application/zip');
  say(`${name} saved: ${Object.keys(files).join(', ')}.`);
}

export function saveTexts(name: string, files: readonly SendingFile[]): void {
  saveZip(name, Object.fromEntries(files.map((file) => [file.name, encoder.encode(file.text)])));
}

/** Log lines have no room for the cautions: they lie beside; packets carry them as comments. */
export function saveExcerpt(stem: string, kind: 'log' | 'pcapng', { written, cautions }: ExcerptAnswer): void {
  if (!written) throw new Error('what was typed is not the phrase.');
  const name = `${stem}.excerpt.${kind}`;
  if (kind === 'log')
    return saveZip(`${stem}.excerpt.zip`, {
      [name]: written.bytes,
      [`${name}.txt`]: encoder.encode(cautionText(cautions)),
    });
  saveAs(name, written.bytes as Uint8Array<ArrayBuffer>, 'application/octet-stream');
  const left = written.unguarded > 0 ? `, ${count(written.unguarded)} left out that no rule fits` : '';
  say(`${name} saved, ${bytes(written.bytes.length)}: ${count(written.frames)} frames${left}.`);
}
