/**
 * Pages of a stream in the order in which a text runs over them. The same frames part into the same pages by many a byte, as whatever differs from page to page
 * tells them apart: each order of the same pages is read once.
 */
import type { Stream } from '../../frames/table.ts';
import type { MapFrame } from '../../map/schema.ts';
import { pageCells, type Cell, type PageIndex } from './cells.ts';
import { indexPlaces, type IndexPlace } from './index-places.ts';

export interface PageRun {
  readonly index: PageIndex;
  readonly cells: readonly Cell[];
}

const isOneBit = (step: number): boolean => (step & (step - 1)) === 0;

/**
 * Pages in a row whose numbers go up by one step: the pages of a text are counted. Where only the look of it says that they are numbers, the step is one bit:
 * any two values are some step apart.
 */
function evenRuns(cells: readonly Cell[], isSaid: boolean): Cell[][] {
  const numberOf = (cell: Cell | undefined): number => cell?.page[0]?.value ?? Number.NaN;
  const runs: Cell[][] = [];
  for (let from = 0; from + 1 < cells.length;) {
    const step = numberOf(cells[from + 1]) - numberOf(cells[from]);
    let to = from + 1;
    while (to + 1 < cells.length && numberOf(cells[to + 1]) - numberOf(cells[to]) === step) to++;
    if (isSaid || isOneBit(step)) runs.push(cells.slice(from, to + 1));
    from = to;
  }
  return runs;
}

const runsBy = (stream: Stream, place: IndexPlace): PageRun[] =>
  evenRuns(pageCells(stream, place) ?? [], place.isSaid).map((cells) => ({ index: place, cells }));

/** Tells pages of one stream by their frames: the first of them and how many there are. */
const keyOf = ({ cells }: PageRun): string => `,${cells.map(({ firstRow, times }) => `${firstRow}+${times}`).join()},`;

/** All runs of pages, but for those that are a part of another. frame: what the map says of the stream. */
export function pageRuns(stream: Stream, frame: MapFrame | null): readonly PageRun[] {
  const longestFirst = indexPlaces(stream, frame)
    .flatMap((place) => runsBy(stream, place))
    .sort((one, other) => other.cells.length - one.cells.length);
  const kept: { readonly key: string; readonly run: PageRun }[] = [];
  for (const run of longestFirst) {
    const key = keyOf(run);
    if (!kept.some((other) => other.key.includes(key))) kept.push({ key, run });
  }
  return kept.map(({ run }) => run);
}
