/** Receive filters as constant tables: for each bus and kind of identifier, of the frames that the part sends. */
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import type { CContext } from './context.ts';
import { receiveFilters, type FilterChoice } from './filters.ts';
import type { Bus } from './receiver.ts';
import { commentText } from './text.ts';

/** Name of the table for a bus and kind of identifier. */
function tableName({ macro }: Bus, extended: boolean, prefix: string): string {
  const stem = macro.toLowerCase().replace(`${prefix}_bus_`, '');
  return `${prefix}_filters_${stem}_${extended ? 'extended' : 'base'}`;
}

/** All names that tables and their counts may take. */
export const filterNames = (buses: readonly Bus[], prefix: string): string[] =>
  buses.flatMap((bus) =>
    [false, true].flatMap((extended) => {
      const name = tableName(bus, extended, prefix);
      return [name, `${name.toUpperCase()}_COUNT`];
    }),
  );

interface FilterTable {
  readonly name: string;
  readonly bus: string;
  readonly width: 11 | 29;
  readonly wanted: number;
  readonly others: number;
  readonly choice: FilterChoice;
}

const idsOf = (frames: readonly MapFrame[]): number[] => frames.map(({ id }) => Number(id));

/** Frames that the part sends; where the map says so of none, all. */
function wantedOf(frames: readonly MapFrame[]): readonly MapFrame[] {
  const sent = frames.filter(({ role }) => role === 'sent-by-part');
  return sent.length > 0 ? sent : frames;
}

function tablesOf(map: SignalMap, buses: readonly Bus[], { prefix }: CContext, most: number | null): FilterTable[] {
  const wanted = new Set(wantedOf(map.frames));
  return buses.flatMap((place) =>
    [false, true].flatMap((extended): FilterTable[] => {
      const bus = place.name;
      const here = map.frames.filter((frame) => frame.bus === bus && frame.extended === extended);
      const own = here.filter((frame) => wanted.has(frame));
      const others = idsOf(here.filter((frame) => !wanted.has(frame)));
      if (own.length === 0) return [];
      const width = extended ? 29 : 11;
      const name = tableName(place, extended, prefix);
      const choice = receiveFilters(idsOf(own), others, width, most);
      return [{ name, bus, width, wanted: own.length, others: others.length, choice }];
    }),
  );
}

const hex = (value: number): string => `0x${value.toString(16).toUpperCase()}`;

function wordsOf({ bus, width, wanted, others, choice }: FilterTable): string[] {
  const { filters, othersPassing, passing, isBest } = choice;
  const shown = othersPassing.slice(0, 12).map(hex).join(' ') + (othersPassing.length > 12 ? ' ...' : '');
  return [
    `/* ${commentText(bus)}, identifiers of ${width} bits: ${filters.length} filters for ${wanted} frames.`,
    `   ${passing} identifiers pass, and ${othersPassing.length} of the ${others} others in the map${shown ? `: ${shown}` : ''}.`,
    ...(isBest ? [] : ['   Not every way of sharing was tried: fewer might do.']),
    '*/',
  ];
}

export interface FilterText {
  readonly header: string;
  readonly source: string;
}

export function filterText(map: SignalMap, buses: readonly Bus[], context: CContext, most: number | null): FilterText {
  const { prefix } = context;
  const tables = tablesOf(map, buses, context, most);
  const sized = ({ name, choice }: FilterTable): string => `const ${prefix}_filter ${name}[${choice.filters.length}]`;
  const header = [
    '/* Receive filters: a frame passes where (identifier & mask) == match. For the frames that the part sends, or for all where',
    '   the map says so of none. What passes unasked is counted in "unknown" of the receiver. */',
    `typedef struct {`,
    '  uint32_t match;',
    '  uint32_t mask;',
    `} ${prefix}_filter;`,
    '',
    ...tables.flatMap((table) => [
      ...wordsOf(table),
      `#define ${table.name.toUpperCase()}_COUNT ${table.choice.filters.length}u`,
      `extern ${sized(table)};`,
      '',
    ]),
  ];
  const source = tables.flatMap((table) => [
    `${sized(table)} = {`,
    table.choice.filters.map(({ match, mask }) => `  {UINT32_C(${hex(match)}), UINT32_C(${hex(mask)})}`).join(',\n'),
    '};',
    '',
  ]);
  return { header: header.join('\n'), source: source.join('\n') };
}
