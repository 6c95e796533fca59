/**
 * Several captures of one vehicle laid one after the other in one table, so that fields are found once over all of them. Each
 * keeps its own stretch; between two lies a pause, so that nothing is held over from one to the next.
 */
import { buildTable, type PlainFrame } from '../frames/build-table.ts';
import { payloadAt, type FrameTable } from '../frames/table.ts';

const PAUSE_US = 30e6;

export interface Stretch {
  readonly fromUs: number;
  readonly toUs: number;
}

export interface JoinedCaptures {
  readonly table: FrameTable;
  /** [captures] where each lies in the table, ends included. */
  readonly stretches: readonly Stretch[];
}

function* framesOf(tables: readonly FrameTable[], stretches: readonly Stretch[]): Generator<PlainFrame> {
  for (const [at, table] of tables.entries()) {
    const { fromUs } = stretches[at] as Stretch;
    for (const stream of table.streams) {
      const { bus, id, extended, direction, fdFlags } = stream;
      for (let row = 0; row < stream.count; row++) {
        const timeUs = fromUs + (stream.timeUs[row] as number);
        yield { timeUs, bus, id, extended, direction, data: payloadAt(stream, row), fdFlags: fdFlags?.[row] ?? 0 };
      }
    }
  }
}

/** In the order given; the joined table's clock is its own. */
export function joinCaptures(tables: readonly FrameTable[]): JoinedCaptures {
  let nextUs = 0;
  const stretches = tables.map(({ endUs }): Stretch => {
    const fromUs = nextUs;
    nextUs = fromUs + endUs + PAUSE_US;
    return { fromUs, toUs: fromUs + endUs };
  });
  return { table: buildTable(framesOf(tables, stretches)), stretches };
}
