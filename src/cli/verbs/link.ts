/** `link`: which fields answer which action. */
import { CLAIM_Q } from '../../actions/claims.ts';
import { isOnlyThen, movesWords } from '../../actions/moves-words.ts';
import type { ActionLinks, Link, LinkReport } from '../../actions/types.ts';
import { wholeOf, WrongUsage, type OptionSpec, type ParsedWords } from '../arguments.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { inputsFrom, shortCapturesOf, type Inputs } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import type { Terminal } from '../terminal.ts';
import { chance, figure, textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

/** Rows a person reads of one action; the rest is a matter for --all and --json. */
const ROWS_SHOWN = 12;

export const MARK_OPTIONS: readonly OptionSpec[] = [
  {
    name: 'marks',
    value: 'FILE',
    help: 'what was done and when: CSV start,end,action[,value,note], or the same as JSON',
  },
  {
    name: 'marks-offset',
    value: 'auto|S',
    help: 'capture time = mark time + offset; auto (default) finds it in the data',
  },
];
export const SEED_OPTION: OptionSpec = {
  name: 'seed',
  value: 'N',
  help: 'seed of the permutations; the same seed gives the same figures (default 1)',
};

const COLUMNS = [
  { head: 'bus' },
  { head: 'id' },
  { head: 'field' },
  { head: 'direction' },
  { head: 'effect', right: true },
  { head: 'sd', right: true },
  { head: 'lag s', right: true },
  { head: 'moves as much at' },
  { head: 'p', right: true },
  { head: 'q', right: true },
];

const rowOf = (link: Link): string[] => [
  link.bus,
  link.id,
  link.field,
  link.direction,
  figure(link.effect),
  link.moves && isOnlyThen(link.moves) ? '-' : figure(link.effectSd, 3),
  link.lagS.toFixed(2),
  link.moves ? movesWords(link.moves) : `${link.n} marks`,
  chance(link.p),
  chance(link.q),
];

function actionText(action: ActionLinks, rowsShown: number): string {
  const marks = `${action.marks} ${action.marks === 1 ? 'mark' : 'marks'}`;
  const head = wrapped(`${action.action} (${marks})${action.words ? `: ${action.words}` : ''}`, 100, '  ');
  if (action.links.length === 0) return head;
  const more = action.links.length - rowsShown;
  const tail = more > 0 ? [`and ${more} more: --all or --json shows them`] : [];
  return [head, textTable(COLUMNS, action.links.slice(0, rowsShown).map(rowOf)), ...tail].join('\n');
}

/** Only what is sure enough, unless all was asked for. */
function shownLinks(report: LinkReport, all: boolean): LinkReport {
  if (all) return report;
  const actions = report.actions.map((action) => ({
    ...action,
    links: action.links.filter((link) => link.q <= CLAIM_Q),
  }));
  return { ...report, actions };
}

/** By marks where there are any; else by the dossier's captures that are named after one action each. */
function reportOf(inputs: Inputs, parsed: ParsedWords, terminal: Terminal): Promise<LinkReport> {
  const seed = wholeOf(parsed.one('seed') ?? '1', 'seed');
  const all = parsed.has('all');
  const { marks, marksOffset: offset } = inputs;
  if (marks) return runTask('link', { ...inputs.capture, marks, offset, seed, all }, terminal);
  const captures = shortCapturesOf(parsed, inputs, terminal);
  if (captures) return runTask('linkShort', { captures, seed, all }, terminal);
  throw new WrongUsage(
    '--marks FILE is needed, or a dossier with two or more captures named after one action ("horn 1", "horn 2") and others beside them: without either there is nothing to tie fields to.',
  );
}

export const link: Verb = {
  name: 'link',
  summary: 'which fields answer which action, with effect, lag and how surely',
  usage: 'CAPTURE... --marks FILE [--marks-offset auto|S] [--all] [--json]',
  about:
    'Ties fields to the actions that you marked. p comes from shifting the marks in time, q from Benjamini and Hochberg over all fields and directions of one action; only q <= 0.05 is shown unless --all.\nEffect is in raw units, sd in standard deviations of how the field changes at other times; a field that never moves so otherwise has no sd worth a figure.\nThe clock offset found holds your own reaction time: only lags relative to other fields mean something.\nA dossier without marks whose captures are named after one action each ("brake pressed 3", "nothing 2") does as well: fields are compared over captures, and p comes from exchanging their names.',
  options: [
    ...MARK_OPTIONS,
    { name: 'all', help: 'every link, those with q above 0.05 too' },
    SEED_OPTION,
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe link drive-1.log --marks marks-1.csv',
  async run(parsed, terminal) {
    const inputs = await inputsFrom(parsed, terminal);
    const report = await reportOf(inputs, parsed, terminal);
    const shown = shownLinks(report, parsed.has('all'));
    if (parsed.has('json')) {
      terminal.print(JSON.stringify(shown, null, 2));
      return;
    }
    const rowsShown = parsed.has('all') ? Infinity : ROWS_SHOWN;
    const actions = shown.actions.map((action) => actionText(action, rowsShown));
    terminal.print([wrapped(`marks' clock: ${report.clock.words}`, 100, '  '), ...actions].join('\n\n'));
  },
};
