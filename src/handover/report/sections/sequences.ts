/** What follows an event, step by step, with the earliest and latest that each was seen. */
import { plural, value } from '../../../kit/sheet-figures.ts';
import { idNumber } from '../../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../../map/schema.ts';
import type { Context } from '../context.ts';
import { mono, type Block, type Cell, type Section, type Words } from '../document.ts';
import type { SequenceStep } from '../pictures/sequence-scene.ts';

type MapSequence = SignalMap['sequences'][number];

interface Step {
  readonly bus: string;
  readonly id: string;
  readonly what: string;
  readonly group: string | null;
  readonly delayMs: readonly [number, number];
  readonly seen: number;
  readonly isPresence: boolean;
}

const PRESENCE = { begins: 'begins to be sent', 'falls-silent': 'is sent no more' } as const;

function frameOf({ frames }: SignalMap, { bus, id }: { bus: string; id: string }): MapFrame | undefined {
  return frames.find((frame) => frame.bus === bus && idNumber(frame.id) === idNumber(id));
}

/** A state by its name where it has one. */
function stateWords(map: SignalMap, step: MapSequence['steps'][number], raw: number | string): string {
  const signal = frameOf(map, step)?.signals.find(({ name }) => name === step.signal);
  const name = signal?.states[String(raw)];
  return name ? `${name} (${raw})` : String(raw);
}

/** Steps, and what begins and falls silent between them, in order of time. */
export function stepsInOrder(map: SignalMap, { steps, presence = [] }: MapSequence): Step[] {
  const all: Step[] = [
    ...steps.map((step) => ({
      ...step,
      what: `${step.signal}: ${stateWords(map, step, step.from)} to ${stateWords(map, step, step.to)}`,
      isPresence: false,
    })),
    ...presence.map((each) => ({ ...each, what: PRESENCE[each.what], isPresence: true })),
  ];
  return all.toSorted((a, b) => a.delayMs[0] - b.delayMs[0]);
}

function rowOf(step: Step, n: number, { map }: Context): Cell[] {
  const frame = frameOf(map, step);
  const who: Words = [mono(`${step.bus} ${step.id}`), frame ? ` ${frame.name}` : ''];
  return [
    { words: who, ...(step.group ? { group: step.group } : {}) },
    step.what,
    step.delayMs[0] === step.delayMs[1]
      ? value(step.delayMs[0])
      : `${value(step.delayMs[0])} to ${value(step.delayMs[1])}`,
    `${step.seen} of ${n}`,
  ];
}

function blocksOf(sequence: MapSequence, context: Context): Block[] {
  const steps = stepsInOrder(context.map, sequence);
  const drawn = steps.map((step): SequenceStep => ({
    group: step.group,
    words: `${frameOf(context.map, step)?.name ?? step.id} ${step.what}`,
    lowMs: step.delayMs[0],
    highMs: step.delayMs[1],
    isPresence: step.isPresence,
  }));
  const seldom = sequence.n < 3 ? ' Done once or twice only: a step may be chance.' : '';
  return [
    { kind: 'words', words: `After “${sequence.event}”, seen ${plural(sequence.n, 'time')}.${seldom}`, tone: 'dim' },
    {
      kind: 'pictures',
      pictures: [
        {
          title: `What follows “${sequence.name}”`,
          description: `${plural(steps.length, 'step')}; a bar from the earliest to the latest each was seen. An open bar: a frame begins or falls silent.`,
          content: { of: 'sequence', sequence: { steps: drawn } },
          behind: {
            kind: 'table',
            head: [
              'frame',
              { name: 'what', wide: true },
              { name: 'after, ms', align: 'right' },
              { name: 'seen', align: 'right' },
            ],
            rows: steps.map((step) => rowOf(step, sequence.n, context)),
          },
        },
      ],
    },
  ];
}

export function sequencesSection(context: Context): Section {
  const { sequences } = context.map;
  return {
    id: 'sequences',
    title: 'Sequences',
    blocks:
      sequences.length > 0
        ? []
        : [
            {
              kind: 'words',
              words:
                'None is in the map. Captures with the key turned on and off several times, and marked, would show what follows what.',
              tone: 'dim',
            },
          ],
    sections: sequences.map((sequence, index) => ({
      id: `sequence-${index + 1}`,
      title: sequence.name,
      blocks: blocksOf(sequence, context),
    })),
  };
}
