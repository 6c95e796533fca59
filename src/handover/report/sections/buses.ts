/** The buses with their rates, and the loom: who sends what, how often. */
import { grouped } from '../../../kit/figures.ts';
import { plural, value } from '../../../kit/sheet-figures.ts';
import type { MapFrame } from '../../../map/schema.ts';
import { shownId, type Context } from '../context.ts';
import { inferred, type Cell, type Picture, type Section } from '../document.ts';
import { loomOfMap } from '../pictures/loom-of-map.ts';

const rateOf = (frames: readonly MapFrame[]): number =>
  frames.reduce((sum, { timing }) => sum + (timing.periodMs ? 1000 / timing.periodMs : 0), 0);
const bits = (rate: number | null): Cell => (rate === null ? [inferred('not told')] : grouped(rate));

export function busesSection({ map }: Context): Section {
  const listed = map.buses.map(({ name }) => name);
  const others = [...new Set(map.frames.map(({ bus }) => bus))].filter((name) => !listed.includes(name));
  const all = [...map.buses, ...others.map((name) => ({ name, bitrate: null, dataBitrate: null }))];
  return {
    id: 'buses',
    title: 'Buses',
    blocks: [
      {
        kind: 'table',
        head: [
          'bus',
          { name: 'bit/s', align: 'right' },
          { name: 'data bit/s', align: 'right' },
          { name: 'identifiers', align: 'right' },
          { name: 'senders', align: 'right' },
          { name: 'periodic frames a second', align: 'right' },
        ],
        rows: all.map(({ name, bitrate, dataBitrate }) => {
          const own = map.frames.filter(({ bus }) => bus === name);
          const senders = new Set(own.flatMap(({ sender }) => (sender ? [sender.group] : [])));
          const data = own.some(({ fd }) => fd)
            ? bits(dataBitrate)
            : dataBitrate === null
              ? 'classical only'
              : bits(dataBitrate);
          return [name, bits(bitrate), data, String(own.length), String(senders.size), value(rateOf(own))];
        }),
        otherwise: 'The map names no bus.',
      },
    ],
  };
}

function loomWords({ map }: Context): string {
  const groups = new Map<string, MapFrame[]>();
  for (const frame of map.frames) {
    const key = `${frame.bus}: ${frame.sender ? frame.sender.name || `sender ${frame.sender.group}` : 'sender not known'}`;
    groups.set(key, [...(groups.get(key) ?? []), frame]);
  }
  return [...groups].map(([name, frames]) => `${name}: ${frames.map((frame) => shownId(frame)).join(', ')}`).join('. ');
}

export function loomSection(context: Context): Section {
  const loom = loomOfMap(context.map);
  const picture: Picture = {
    title: `Loom: ${plural(loom.identifiers, 'identifier')}, ${plural(loom.senders, 'sender')}`,
    description: loomWords(context),
    content: { of: 'loom', loom },
    caption:
      'A trunk is a bus, a branch a sender, a strand an identifier: the wider, the more often it is sent. Dashed: no period. Two ties: one sender, as its timing says; one dashed tie: in doubt.',
  };
  return {
    id: 'loom',
    title: 'Loom',
    blocks:
      loom.identifiers > 0
        ? [{ kind: 'pictures', pictures: [picture] }]
        : [{ kind: 'words', words: 'The map has no frames.' }],
  };
}
