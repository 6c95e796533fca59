/** The bench trials: what was sent, what the module did. */
import { frameKey } from '../../../map/identifiers.ts';
import { judgeAll, type JudgedTrial } from '../../bench/verdicts.ts';
import type { Context } from '../context.ts';
import { inferred, strong, type Cell, type Section, type Words } from '../document.ts';

/** Frames named one by one up to so many. */
const NAMED_MOST = 12;

function namesOf(keys: readonly string[], { map }: Context): string {
  const names = new Map(map.frames.map((frame) => [frameKey(frame), frame.name]));
  const shown = keys.slice(0, NAMED_MOST).map((key) => names.get(key) ?? key);
  const more = keys.length - shown.length;
  return keys.length === 0 ? 'nothing' : `${shown.join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}

const AIMS = { set: 'a set of frames', stop: 'one frame stopped', vary: 'a value varied' } as const;

/** A trial is judged by all others of the record, so that what later ones teach counts here too. */
function rowOf({ trial, verdict, reasons, judgedBy }: JudgedTrial, context: Context): Cell[] {
  const { number, kind, aim, sent, observed, moved, setAside, capture } = trial;
  const codes = observed?.codes.map(({ code }) => code) ?? [];
  const lines: Words[] = [
    [strong(verdict.replaceAll('-', ' ')), judgedBy === 'hand' ? ' (a person saw it)' : ''],
    ...reasons,
    ...(codes.length > 0 ? [`fault codes ${codes.join(', ')}`] : []),
    ...(setAside ? [`set aside: ${setAside}`] : []),
  ];
  return [
    String(number),
    { words: '', lines: [AIMS[kind], ...(aim ? [aim] : [])] },
    namesOf(sent, context),
    { words: '', lines },
    moved === null ? [inferred('not told')] : moved ? 'yes' : 'no',
    capture?.title ?? '',
  ];
}

export function trialsSection(context: Context): Section {
  const { bench } = context.extras;
  const judged = bench ? judgeAll(context.map, bench) : [];
  return {
    id: 'trials',
    title: 'Bench trials',
    blocks: [
      judged.length > 0
        ? {
            kind: 'table',
            head: [
              { name: 'no.', align: 'right' },
              'trial',
              'sent',
              { name: 'what the module did', wide: true },
              'moved',
              'recording',
            ],
            rows: judged.map((each) => rowOf(each, context)),
          }
        : {
            kind: 'words',
            words:
              'None is on record. Which frames the part needs is shown only by leaving them out, one trial after the other, on a bench.',
            tone: 'dim',
          },
    ],
  };
}
