/** Wakings that were seen, and when each frame first came after them. */
import type { FrameTable, Stream } from '../../../frames/table.ts';
import type { Survey, SurveyFrame } from '../../../timing/types.ts';
import { appearancesOf, busWakings, type Waking } from '../../../timing/wakings.ts';
import type { SeenStart } from './types.ts';

/** What only comes on an event has no time of its own after a waking. */
const LATEST_S = 30;

export interface Starts {
  readonly wakings: readonly { readonly bus: string; readonly fromS: number }[];
  of(stream: Stream): SeenStart[];
}

interface Row {
  readonly stream: Stream;
  readonly row: SurveyFrame;
}

/** @param rows received streams with what the survey says of them */
export function startsIn(table: FrameTable, survey: Pick<Survey, 'buses'>, rows: readonly Row[]): Starts {
  const wakings: { bus: string; fromS: number }[] = [];
  const byBus = new Map<string, { readonly all: readonly Waking[]; readonly numbers: readonly number[] }>();
  for (const bus of table.origin.kind === 'none' ? [] : table.buses) {
    const rhythms = rows
      .filter(({ stream }) => stream.bus === bus)
      .map(({ stream, row }) => ({ stream, timing: row.timing }));
    const all = busWakings(rhythms, survey.buses.find(({ name }) => name === bus)?.gaps ?? []);
    const numbers = all.map(({ fromS, seen }) => (seen ? wakings.push({ bus, fromS }) - 1 : -1));
    byBus.set(bus, { all, numbers });
  }
  return {
    wakings,
    of(stream) {
      const { all, numbers } = byBus.get(stream.bus) ?? { all: [], numbers: [] };
      return appearancesOf(stream, all).flatMap(({ waking, delayS }) => {
        const number = numbers[waking] as number;
        return number >= 0 && delayS <= LATEST_S ? [{ waking: number, delayMs: 1000 * delayS }] : [];
      });
    },
  };
}
