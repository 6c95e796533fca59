/** How each field went over the recording, and what speaks for it. Fields of which nothing is known but their bits are counted. */
import { plural, value } from '../../../kit/sheet-figures.ts';
import { niceTicks } from '../../../kit/drawing/ticks.ts';
import { frameKey } from '../../../map/identifiers.ts';
import type { Evidence, MapFrame, MapSignal } from '../../../map/schema.ts';
import type { Context } from '../context.ts';
import { fullCell, strong, type Block, type Cell, type Picture, type Words } from '../document.ts';
import { evidenceWords, inOrder } from '../evidence-words.ts';
import type { TraceContent } from '../pictures/trace-scene.ts';
import type { SignalTrace } from '../traces.ts';
import { shownId } from '../context.ts';

/** More states than so many get figures on their axis in place of names. */
const STATES_NAMED = 4;
const TICKS = 3;

function ticksOf(signal: MapSignal, least: number, greatest: number): TraceContent['ticks'] {
  const named = Object.entries(signal.states)
    .map(([raw, words]) => ({ value: Number(raw) * signal.scale + signal.offset, words }))
    .filter(({ value: at }) => at >= least && at <= greatest);
  if (signal.kind !== 'number' && named.length > 0 && named.length <= STATES_NAMED) return named;
  const ticks = niceTicks(least, greatest, TICKS);
  const whole = signal.kind === 'number' ? ticks : ticks.filter((tick) => Number.isInteger(tick));
  // One figure alone gives no scale: then the ends of the range stand.
  const kept = whole.length > 1 || least === greatest ? whole : [least, greatest];
  return kept.map((tick) => ({ value: tick, words: value(tick) }));
}

function tracePicture(frame: MapFrame, signal: MapSignal, trace: SignalTrace): Picture {
  const { least, greatest } = trace;
  const unit = signal.unit ? ` ${signal.unit}` : '';
  const isStill = least === greatest;
  const range = isStill ? `always ${value(least)}${unit}` : `${value(least)} to ${value(greatest)}${unit}`;
  return {
    title: signal.name,
    description: range,
    content: {
      of: 'trace',
      trace: {
        group: frame.sender?.group ?? null,
        low: [...trace.low],
        high: [...trace.high],
        least,
        greatest,
        ticks: ticksOf(signal, least, greatest),
      },
    },
  };
}

const evidenceOf = (entry: object): readonly Evidence[] => {
  const { evidence } = entry as { readonly evidence?: unknown };
  return Array.isArray(evidence) ? (evidence as Evidence[]) : [];
};

interface Spoken {
  readonly number: number;
  readonly name: string;
  readonly unit: string;
  readonly lines: readonly Words[];
  readonly picture: Picture | null;
  readonly isStill: boolean;
}

function spokenOf(frame: MapFrame, context: Context): Spoken[] {
  const traces = context.extras.traces?.frames.find((one) => frameKey(one) === frameKey(frame))?.signals ?? [];
  const byIndex = new Map(traces.map((trace) => [trace.signal, trace]));
  const words = (entry: object): Words[] => inOrder(evidenceOf(entry)).map((one) => evidenceWords(one, context));
  const signals = frame.signals.map((signal, index): Omit<Spoken, 'number'> => {
    const trace = byIndex.get(index);
    const picture = trace ? tracePicture(frame, signal, trace) : null;
    const { name, unit } = signal;
    return {
      name,
      unit,
      lines: words(signal),
      picture,
      isStill: trace !== undefined && trace.least === trace.greatest,
    };
  });
  const guard = (name: string, entry: object): Omit<Spoken, 'number'> => ({
    name,
    unit: '',
    lines: words(entry),
    picture: null,
    isStill: false,
  });
  return [
    ...frame.selectors.map((each) => guard(each.name, each)),
    ...signals,
    ...frame.counters.map((each) => guard(each.name, each)),
    ...frame.checksums.map((each) => guard(each.method, each)),
  ].map((each, index) => ({ ...each, number: index + 1 }));
}

function cellsOf({ number, name, unit, lines, picture, isStill }: Spoken, drawn: boolean): Cell[] {
  const shown: Cell = picture && !isStill ? { ...fullCell(''), picture } : picture ? picture.description : '';
  return [
    String(number),
    { words: '', lines: [[strong(name)], ...(unit ? [unit] : [])] },
    ...(drawn ? [shown] : []),
    { words: '', lines: lines.length > 0 ? lines : ['no evidence in the map'] },
  ];
}

export function evidenceBlocks(frame: MapFrame, context: Context): Block[] {
  const spoken = spokenOf(frame, context);
  const told = spoken.filter(({ lines, picture, isStill }) => lines.length > 0 || (picture && !isStill));
  const silent = spoken.length - told.length;
  if (told.length === 0) {
    const words = `The map has no evidence for the ${plural(silent, 'field')} of ${shownId(frame)}.`;
    return silent > 0 ? [{ kind: 'words', words, tone: 'dim' }] : [];
  }
  const drawn = told.some(({ picture }) => picture !== null);
  const { window } = context.extras.traces ?? { window: null };
  const axis: Picture | undefined = window
    ? { title: '', description: '', content: { of: 'axis', axis: { fromS: window.fromS, toS: window.toS } } }
    : undefined;
  return [
    {
      kind: 'table',
      head: [
        { name: 'no.', align: 'right' },
        'field',
        ...(drawn ? [{ name: 'over time', ...(axis ? { picture: axis } : {}) }] : []),
        { name: 'what speaks for it', wide: true },
      ],
      rows: told.map((each) => cellsOf(each, drawn)),
    },
    ...(silent > 0
      ? [
          {
            kind: 'words' as const,
            words:
              silent === 1
                ? 'For one more field the map has no evidence.'
                : `For ${silent} more fields the map has no evidence.`,
            tone: 'dim' as const,
          },
        ]
      : []),
  ];
}
