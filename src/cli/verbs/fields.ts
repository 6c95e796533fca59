/** `fields`: the payload structure of every identifier. */
import type { MapFrame } from '../../map/schema.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import type { Verb } from '../verb.ts';

interface Placed {
  readonly lsb: { readonly byte: number; readonly bit: number };
  readonly length: number;
  readonly order: string;
}

const place = ({ lsb, length, order }: Placed): string =>
  `byte ${lsb.byte} bit ${lsb.bit}, ${length} ${length === 1 ? 'bit' : 'bits'}${length > 1 ? `, ${order}` : ''}`;

const whyOf = (item: object): string => ('why' in item && typeof item.why === 'string' ? `  ${item.why}` : '');

function frameText(frame: MapFrame): string {
  const lines = [`${frame.bus} ${frame.id}  ${frame.length} bytes`];
  for (const c of frame.counters)
    lines.push(`  counter   ${place(c)}, ${c.min} to ${c.max}, step ${c.step}${whyOf(c)}`);
  for (const c of frame.checksums) lines.push(`  checksum  ${place(c)}, ${c.method} ${c.poly ?? ''}${whyOf(c)}`);
  for (const s of frame.selectors) lines.push(`  selector  ${place(s)}${whyOf(s)}`);
  for (const s of frame.signals) {
    const page = s.when ? `, when ${JSON.stringify(s.when)}` : '';
    lines.push(
      `  ${s.kind.padEnd(9)} ${s.name.padEnd(8)} ${place(s)}, ${s.coding}${page}, sure ${s.confidence.toFixed(2)}${whyOf(s)}`,
    );
  }
  return lines.join('\n');
}

export const fields: Verb = {
  name: 'fields',
  summary: 'payload structure of every identifier: spans, order, coding, counters, checksums',
  usage: 'CAPTURE... [--json]',
  about:
    'Proposes where values begin and end in each payload, in which byte order and coding, and which bits guard the frame. Names are made from the place.\nA first version: each proposal carries its confidence and its reason; pages and rare codings are found only where the evidence is plain.',
  options: [DOSSIER_OPTION, ...CAPTURE_OPTIONS, JSON_OPTION],
  example: 'loomscribe fields drive-1.log --json > fields.json',
  async run(parsed, terminal) {
    const { capture } = await inputsFrom(parsed, terminal);
    const answer = await runTask('fields', capture, terminal);
    terminal.print(parsed.has('json') ? JSON.stringify(answer, null, 2) : answer.frames.map(frameText).join('\n\n'));
  },
};
