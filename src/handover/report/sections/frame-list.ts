/** All frames in one table, then each in a section of its own. */
import { confidenceFigure } from '../../../kit/figures.ts';
import { jitter, period } from '../../../kit/sheet-figures.ts';
import type { MapFrame } from '../../../map/schema.ts';
import { senderWords, shownId, type Context } from '../context.ts';
import { fullCell, mono, type Cell, type Section } from '../document.ts';
import { frameSection } from './frame.ts';
import { needCell, ROLES } from './frame-words.ts';

function rowOf(frame: MapFrame, { anchorOf }: Context): Cell[] {
  const { timing, sender } = frame;
  return [
    { words: [mono(shownId(frame))], link: anchorOf(frame) },
    frame.bus,
    frame.name,
    String(frame.length),
    { ...fullCell(senderWords(frame)), ...(sender ? { group: sender.group } : {}) },
    sender ? confidenceFigure(sender.confidence) : '',
    timing.periodMs === null ? timing.kind.replace('-', ' ') : period(timing.periodMs),
    timing.periodMs === null || timing.jitterMs === null ? '' : jitter(timing.jitterMs),
    ROLES[frame.role],
    needCell(frame),
  ];
}

export function framesSection(context: Context): Section {
  const { map } = context;
  return {
    id: 'frames',
    title: 'Frames',
    blocks: [
      {
        kind: 'table',
        head: [
          'identifier',
          'bus',
          { name: 'name', wide: true },
          { name: 'bytes', align: 'right' },
          'sender',
          { name: 'sure', align: 'right' },
          { name: 'sent', align: 'right' },
          { name: 'jitter', align: 'right' },
          'role',
          'need',
        ],
        rows: map.frames.map((frame) => rowOf(frame, context)),
        otherwise: 'The map has no frames.',
      },
    ],
    sections: map.frames.map((frame) => frameSection(frame, context)),
  };
}
