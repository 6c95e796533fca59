/** What the part waits to hear from the rest of the vehicle, drawn and as a table; why each is believed to be needed, and what cannot be produced. */
import { period, value } from '../../../kit/sheet-figures.ts';
import type { MapFrame } from '../../../map/schema.ts';
import { whyNotSent } from '../../encode-choice.ts';
import { neededFrames } from '../../keep-alive.ts';
import type { KeepAlivePlan, NeedReason, PlannedFrame } from '../../needs/types.ts';
import { senderWords, shownId, type Context } from '../context.ts';
import {
  fullCell,
  inferred,
  mono,
  type Block,
  type Cell,
  type Picture,
  type Section,
  type Words,
} from '../document.ts';
import type { ScheduledFrame } from '../pictures/schedule-scene.ts';
import { needCell } from './frame-words.ts';

/** Rows that can still be read as a picture. */
const DRAWN_MOST = 40;
const SPAN_MS = 100;

function scheduled({ frame, periodMs, phaseMs }: PlannedFrame): ScheduledFrame[] {
  if (periodMs === null || !(periodMs > 0)) return [];
  return [
    {
      shownId: shownId(frame),
      name: frame.name,
      group: frame.sender?.group ?? null,
      need: frame.need.verdict,
      phaseMs: phaseMs ?? 0,
      isPhaseKnown: phaseMs !== null,
      periodMs,
      hasCounter: frame.counters.length > 0,
      hasChecksum: frame.checksums.length > 0,
    },
  ];
}

function pictureOf({ frames }: KeepAlivePlan): Picture[] {
  const drawn = frames
    .filter(({ whyNotProduced }) => whyNotProduced === null)
    .flatMap(scheduled)
    .slice(0, DRAWN_MOST);
  if (drawn.length === 0) return [];
  return [
    {
      title: `${SPAN_MS} ms of what the part waits to hear`,
      description: `${drawn.length} frames with their periods; figures stand in the table below.`,
      content: { of: 'schedule', schedule: { spanMs: SPAN_MS, frames: drawn } },
      caption:
        'A solid square: needed, its absence was tried. A dashed square: untested. A dash: not needed. In a stroke, a dot: a counter runs; a notch: a checksum is made anew. An open stroke: its place in the period is not known.',
    },
  ];
}

const reasonWords = ({ kind, speaksFor, words, capture }: NeedReason, { captureName }: Context): Words => [
  `${speaksFor === 'needed' ? 'for' : 'against'}: ${words} (${kind.replaceAll('-', ' ')}${capture ? `, ${captureName(capture)}` : ''})`,
];

function rowOf(planned: PlannedFrame, context: Context): Cell[] {
  const { frame, periodMs, phaseMs, firstAfterWakeMs, order, reasons, whyNotProduced, mayCommand } = planned;
  const produced: Words[] = [
    whyNotProduced ?? 'yes',
    ...(mayCommand.length > 0 ? [[inferred(`may command: ${mayCommand.join(', ')}`)]] : []),
  ];
  const woken = firstAfterWakeMs
    ? `${value(firstAfterWakeMs.midMs)} (${value(firstAfterWakeMs.lowMs)} to ${value(firstAfterWakeMs.highMs)}, n ${firstAfterWakeMs.n})`
    : '';
  return [
    { words: [mono(shownId(frame)), ` ${frame.name}`], link: context.anchorOf(frame) },
    { ...fullCell(senderWords(frame)), ...(frame.sender ? { group: frame.sender.group } : {}) },
    needCell(frame),
    periodMs === null ? 'none' : period(periodMs),
    phaseMs === null ? '' : value(phaseMs),
    order === null ? '' : `${order}`,
    woken,
    { words: '', lines: produced },
    { words: '', lines: reasons.map((reason) => reasonWords(reason, context)) },
  ];
}

const WITHOUT_CAPTURES =
  'Made from the map alone, no capture was looked at: phases, the order after waking and reasons are not known.';

const HEAD = [
  'frame',
  'sender',
  'need',
  { name: 'every', align: 'right' },
  { name: 'phase, ms', align: 'right' },
  { name: 'order', align: 'right' },
  { name: 'first after waking, ms', align: 'right' },
  'can be produced',
  { name: 'why', wide: true },
] as const;

function planBlocks(plan: KeepAlivePlan, context: Context): Block[] {
  const pictures = pictureOf(plan);
  return [
    ...(plan.captures.length === 0 ? [{ kind: 'words' as const, words: WITHOUT_CAPTURES, tone: 'dim' as const }] : []),
    ...(pictures.length > 0 ? [{ kind: 'pictures' as const, pictures }] : []),
    {
      kind: 'table',
      head: HEAD,
      rows: plan.frames.map((planned) => rowOf(planned, context)),
      otherwise: 'No frame of others is in the map.',
    },
    ...(plan.open.length > 0
      ? [
          { kind: 'subhead' as const, words: 'What the captures could not tell' },
          { kind: 'list' as const, items: plan.open },
        ]
      : []),
  ];
}

/** From the map alone: no phases, no order. */
const plainRow = (frame: MapFrame, { anchorOf }: Context): Cell[] => [
  { words: [mono(shownId(frame)), ` ${frame.name}`], link: anchorOf(frame) },
  { ...fullCell(senderWords(frame)), ...(frame.sender ? { group: frame.sender.group } : {}) },
  needCell(frame),
  frame.timing.periodMs === null ? 'none' : period(frame.timing.periodMs),
  whyNotSent(frame) ?? 'yes',
];

export function keepAliveSection(context: Context): Section {
  const { plan } = context.extras;
  const blocks: Block[] = plan
    ? planBlocks(plan, context)
    : [
        {
          kind: 'words',
          words:
            'No plan was made from a capture: phases, the order after waking and reasons are not known. Below is what the map alone tells of frames that the part does not send.',
          tone: 'dim',
        },
        {
          kind: 'table',
          head: ['frame', 'sender', 'need', { name: 'every', align: 'right' }, { name: 'can be produced', wide: true }],
          rows: neededFrames(context.map).map((frame) => plainRow(frame, context)),
          otherwise: 'No frame of others is in the map.',
        },
      ];
  return { id: 'keep-alive', title: 'What the part waits to hear', blocks };
}
