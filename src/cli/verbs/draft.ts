/** `draft`: everything in one go, written as a signal map. */
import { basename } from 'node:path';
import { wholeOf } from '../arguments.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION, RATE_OPTION } from '../capture-arguments.ts';
import { prepareOutput, writeWhole } from '../files.ts';
import { handWorkOf, inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import { grouped, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';
import { MADE_BY } from '../version.ts';
import { REFERENCE_OPTIONS } from './fit.ts';
import { MARK_OPTIONS, SEED_OPTION } from './link.ts';

export const draft: Verb = {
  name: 'draft',
  summary: 'all of the above in one go, written as a signal map',
  usage: 'CAPTURE... [--marks FILE] [--reference FILE] -o MAP [--json]',
  about:
    'Surveys the capture, finds fields and guards, ties them to your marks and readings, and writes the signal map. Every entry carries its evidence; what rests on one kind of evidence is a guess and says so.\nNothing in the map is proven until it held on another recording (loomscribe prove), and nothing may be sent on its word alone.',
  options: [
    {
      name: 'output',
      short: 'o',
      value: 'MAP',
      required: true,
      help: 'the signal map to write, or - for standard output',
    },
    ...MARK_OPTIONS,
    ...REFERENCE_OPTIONS,
    { name: 'title', value: 'TEXT', help: 'what the part is, for people' },
    SEED_OPTION,
    RATE_OPTION,
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe draft drive-1.log --marks marks-1.csv --reference reference-1.csv -o map.json',
  async run(parsed, terminal) {
    const { capture, rates, marks, reference, marksOffset, referenceOffset, dossier } = await inputsFrom(
      parsed,
      terminal,
    );
    const output = parsed.one('output') as string;
    if (output !== '-') prepareOutput(output);
    const title = parsed.one('title');
    const answer = await runTask(
      'draft',
      {
        ...capture,
        rates,
        marks,
        marksOffset,
        reference,
        referenceOffset,
        hand: dossier ? handWorkOf(dossier) : {},
        title: capture.files.map(({ path }) => basename(path)).join(', '),
        part: { ...(dossier?.part ?? {}), ...(title ? { title } : {}) },
        now: new Date().toISOString(),
        by: MADE_BY,
        seed: wholeOf(parsed.one('seed') ?? '1', 'seed'),
      },
      terminal,
    );
    if (output !== '-') await writeWhole(output, answer.text);
    if (parsed.has('json') || output === '-') {
      terminal.print(answer.text.trimEnd());
      return;
    }
    const counts = `${grouped(answer.frames)} frames, ${grouped(answer.signals)} signals, ${grouped(answer.guards)} guards`;
    const words = answer.words.map((line) => wrapped(line, 100, '  '));
    terminal.print([...words, `${counts} in ${output}`].join('\n'));
    terminal.say(`Next: hold it against another recording: loomscribe prove OTHER --map ${output}`);
  },
};
