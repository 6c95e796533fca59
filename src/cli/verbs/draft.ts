/** `draft`: everything in one go, written as a signal map. */
import { printDossier } from '../../jobs/dossier-file.ts';
import type { Dossier } from '../../jobs/dossier.ts';
import type { DonorCan, Sufficiency } from '../../proof/suffices/types.ts';
import { wholeOf, WrongUsage, type OptionSpec, type ParsedWords } from '../arguments.ts';
import { cannotLines } from '../cannot-text.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION, RATE_OPTION, titleOf } from '../capture-arguments.ts';
import { prepareOutput, writeWhole } from '../files.ts';
import { handWorkOf, inputsFrom, type Inputs } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import { runCardPath, sufficesText, withRunCard } from '../suffices-text.ts';
import type { Terminal } from '../terminal.ts';
import { grouped, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';
import { MADE_BY } from '../version.ts';
import { REFERENCE_OPTIONS } from './fit.ts';
import { MARK_OPTIONS, SEED_OPTION } from './link.ts';

const DONORS: readonly DonorCan[] = ['drive', 'key-on', 'bench'];

function donorOf(parsed: ParsedWords): DonorCan {
  const given = parsed.one('donor') ?? 'drive';
  const donor = DONORS.find((one) => one === given);
  if (!donor) throw new WrongUsage(`--donor takes ${DONORS.join(', ')}, not "${given}".`);
  return donor;
}

/** One file a recording, each a dossier that the workbench opens. */
async function writeRunCards(path: string, { next }: Sufficiency, dossier: Dossier | null): Promise<string[]> {
  const paths = next.map((_, place) => runCardPath(path, place));
  for (const [place, recording] of next.entries())
    await writeWhole(paths[place] as string, printDossier(withRunCard(dossier, recording)));
  return paths;
}

async function tellCards(parsed: ParsedWords, terminal: Terminal, answer: Sufficiency, dossier: Dossier | null) {
  const path = parsed.one('run-card');
  if (path === undefined) return;
  const paths = await writeRunCards(path, answer, dossier);
  terminal.say(
    paths.length > 0
      ? `Run ${paths.length === 1 ? 'card' : 'cards'}: ${paths.join(', ')} (open in the workbench, Marks, Run card)`
      : 'No run card was written: nothing is left to record.',
  );
}

/** Whether the recording suffices, and nothing else. */
async function runSuffices(parsed: ParsedWords, terminal: Terminal, inputs: Inputs): Promise<void> {
  const { capture, marks, marksOffset, dossier } = inputs;
  const answer = await runTask(
    'suffices',
    {
      ...capture,
      growing: parsed.has('growing'),
      marks,
      marksOffset,
      hand: dossier ? handWorkOf(dossier) : {},
      donor: donorOf(parsed),
      seed: wholeOf(parsed.one('seed') ?? '1', 'seed'),
    },
    terminal,
  );
  terminal.print(parsed.has('json') ? JSON.stringify(answer, null, 2) : sufficesText(answer, true));
  await tellCards(parsed, terminal, answer, dossier);
}

const SUFFICES_OPTIONS: readonly OptionSpec[] = [
  {
    name: 'suffices',
    help: 'only say whether the recording suffices, what to record next and what to take along; no map is drafted',
  },
  {
    name: 'donor',
    value: 'WHAT',
    help: 'what the donor can still do: drive (default), key-on, or bench; nothing else is asked of it',
  },
  {
    name: 'run-card',
    value: 'FILE',
    help: 'writes what to record next as a run card that the workbench opens (further recordings: FILE-2 and on)',
  },
  { name: 'growing', help: 'the logger still writes the files: each is read to its last whole line' },
];

export const draft: Verb = {
  name: 'draft',
  summary: 'all of the above in one go, written as a signal map',
  usage: 'CAPTURE... [--marks FILE] [--reference FILE] (-o MAP | --suffices) [--run-card FILE] [--json]',
  about:
    'Surveys the capture, finds fields and guards, ties them to your marks and readings, and writes the signal map. Every entry carries its evidence; what rests on one kind of evidence is a guess and says so.\nNothing in the map is proven until it held on another recording (loomscribe prove), and nothing may be sent on its word alone.\nIt also says whether the recording suffices before the part is cut out of its vehicle, and what to record next: with --suffices that alone, in about a minute, beside the vehicle.',
  options: [
    {
      name: 'output',
      short: 'o',
      value: 'MAP',
      help: 'the signal map to write, or - for standard output; needed unless --suffices is given',
    },
    ...MARK_OPTIONS,
    ...REFERENCE_OPTIONS,
    { name: 'title', value: 'TEXT', help: 'what the part is, for people' },
    ...SUFFICES_OPTIONS,
    SEED_OPTION,
    RATE_OPTION,
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe draft drive-1.log --marks marks-1.csv --reference reference-1.csv -o map.json',
  async run(parsed, terminal) {
    const inputs = await inputsFrom(parsed, terminal);
    if (parsed.has('run-card')) prepareOutput(parsed.one('run-card') as string);
    if (parsed.has('suffices')) return runSuffices(parsed, terminal, inputs);
    const { capture, rates, marks, reference, marksOffset, referenceOffset, dossier } = inputs;
    const output = parsed.one('output');
    if (output === undefined)
      throw new WrongUsage('--output MAP is needed: the signal map to write, or - for standard output.');
    if (output !== '-') prepareOutput(output);
    const title = parsed.one('title');
    const answer = await runTask(
      'draft',
      {
        ...capture,
        growing: parsed.has('growing'),
        donor: donorOf(parsed),
        rates,
        marks,
        marksOffset,
        reference,
        referenceOffset,
        hand: dossier ? handWorkOf(dossier) : {},
        title: titleOf(capture.files),
        part: { ...(dossier?.part ?? {}), ...(title ? { title } : {}) },
        now: new Date().toISOString(),
        by: MADE_BY,
        seed: wholeOf(parsed.one('seed') ?? '1', 'seed'),
      },
      terminal,
    );
    if (output !== '-') await writeWhole(output, answer.text);
    for (const line of cannotLines(answer.cannotBeProduced)) terminal.say(line);
    await tellCards(parsed, terminal, answer.suffices, dossier);
    if (parsed.has('json') || output === '-') {
      terminal.print(answer.text.trimEnd());
      return;
    }
    const counts = `${grouped(answer.frames)} frames, ${grouped(answer.signals)} signals, ${grouped(answer.guards)} guards`;
    const words = answer.words.map((line) => wrapped(line, 100, '  '));
    terminal.print([...words, `${counts} in ${output}`, '', sufficesText(answer.suffices, false)].join('\n'));
    terminal.say(`Next: hold it against another recording: loomscribe prove OTHER --map ${output}`);
  },
};
