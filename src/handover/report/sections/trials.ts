/** The bench trials: what was sent, what the module did. */
import { plural, value } from '../../../kit/sheet-figures.ts';
import { frameKey } from '../../../map/identifiers.ts';
import type { BenchTrial } from '../../bench/record-schema.ts';
import type { Context } from '../context.ts';
import { inferred, type Cell, type Section } from '../document.ts';

/** Frames named one by one up to so many. */
const NAMED_MOST = 12;

function namesOf(keys: readonly string[], { map }: Context): string {
  const names = new Map(map.frames.map((frame) => [frameKey(frame), frame.name]));
  const shown = keys.slice(0, NAMED_MOST).map((key) => names.get(key) ?? key);
  const more = keys.length - shown.length;
  return keys.length === 0 ? 'nothing' : `${shown.join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}

const AIMS = { set: 'a set of frames', stop: 'one frame stopped', vary: 'a value varied' } as const;

function rowOf(trial: BenchTrial, context: Context): Cell[] {
  const { number, kind, aim, sent, observed, seen, moved, setAside, capture } = trial;
  const saw = seen ? `${seen.verdict.replaceAll('-', ' ')}${seen.note ? `: ${seen.note}` : ''}` : null;
  const heard = observed
    ? `${plural(observed.own.length, 'frame')} of the part heard in ${value(observed.watchedS)} s`
    : null;
  const codes =
    observed && observed.codes.length > 0 ? `fault codes ${observed.codes.map(({ code }) => code).join(', ')}` : null;
  const lines = [saw, heard, codes, setAside ? `set aside: ${setAside}` : null].filter(
    (line): line is string => line !== null,
  );
  return [
    String(number),
    { words: '', lines: [AIMS[kind], ...(aim ? [aim] : [])] },
    namesOf(sent, context),
    { words: '', lines: lines.length > 0 ? lines : [[inferred('no recording yet')]] },
    moved === null ? [inferred('not told')] : moved ? 'yes' : 'no',
    capture?.title ?? '',
  ];
}

export function trialsSection(context: Context): Section {
  const trials = context.extras.bench?.trials ?? [];
  return {
    id: 'trials',
    title: 'Bench trials',
    blocks: [
      trials.length > 0
        ? {
            kind: 'table',
            head: [
              { name: 'no.', align: 'right' },
              'trial',
              { name: 'sent', wide: true },
              'what the module did',
              'moved',
              'recording',
            ],
            rows: trials.map((trial) => rowOf(trial, context)),
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
