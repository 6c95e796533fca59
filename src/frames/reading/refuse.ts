/** Files that are surely no text and no capture format read here: told apart by their first bytes. */
import type { Problem } from '../../kit/outcome.ts';

const PACKED: readonly (readonly [readonly number[], string, string])[] = [
  [
    [0x50, 0x4b, 3, 4],
    'a zip archive or a spreadsheet file',
    'Unpack it, or save the sheet as CSV, and give the file inside.',
  ],
  [[0x42, 0x5a, 0x68], 'bzip2 data', 'Unpack it first.'],
  [[0xfd, 0x37, 0x7a, 0x58, 0x5a], 'xz data', 'Unpack it first.'],
  [[0x28, 0xb5, 0x2f, 0xfd], 'Zstandard data', 'Unpack it first.'],
  [[0x37, 0x7a, 0xbc, 0xaf], 'a 7z archive', 'Unpack it and give the file inside.'],
  [[0x50, 0x41, 0x52, 0x31], 'a Parquet file', 'Export the table as CSV.'],
  [[0x25, 0x50, 0x44, 0x46], 'a PDF document', 'Give the recording itself.'],
];

export function refuseByHead(head: Uint8Array, file: string): Problem | null {
  if (head.length === 0) {
    return {
      code: 'empty-file',
      message: 'The file is empty.',
      advice: 'Record again or choose another.',
      place: { file },
    };
  }
  const packed = PACKED.find(([magic]) => magic.every((byte, i) => head[i] === byte));
  if (!packed) return null;
  const [, what, advice] = packed;
  return { code: 'packed-file', message: `This is ${what}, which is not read directly.`, advice, place: { file } };
}
