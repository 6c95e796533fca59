/** Warns where marks or readings meet nothing of a capture: most often they belong to another one, or to another clock. */
import type { MarkFile } from '../../actions/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import { secondsSince, type TimeBase } from '../../kit/time-base.ts';
import type { ReferenceFile } from '../../reference/types.ts';
import type { TaskContext } from './context.ts';

interface TimedInput {
  /** "marks", with the option that mends it: "--marks-offset". */
  readonly what: string;
  readonly option: string;
  readonly timeBase: TimeBase;
  readonly timesS: readonly number[];
  /** Capture time = input time + offset. */
  readonly offsetS: number;
}

const seconds = (value: number): string => `${value.toFixed(1)} s`;

function warnOutside(table: FrameTable, input: TimedInput, context: Pick<TaskContext, 'warn'>): void {
  const { what, option, timeBase, timesS, offsetS } = input;
  const onCapture = (timeS: number): number =>
    offsetS + (timeBase === 'epoch' ? secondsSince(timeS, table.origin.text) : timeS);
  const [first, last] = timesS.reduce<[number, number]>(
    ([least, most], timeS) => [Math.min(least, onCapture(timeS)), Math.max(most, onCapture(timeS))],
    [Infinity, -Infinity],
  );
  const endS = table.endUs / 1e6;
  if (timesS.length === 0 || (last >= 0 && first <= endS)) return;
  context.warn({
    code: `${what}-outside-capture`,
    message: `all ${what} lie outside the capture: at ${seconds(first)} to ${seconds(last)}, the capture lasts from 0 to ${seconds(endS)}.`,
    advice: `Check that they belong to this capture, or give the difference of the clocks with ${option}.`,
  });
}

export function warnMarksOutside(
  table: FrameTable,
  { marks, timeBase }: MarkFile,
  offsetS: number,
  context: Pick<TaskContext, 'warn'>,
): void {
  const timesS = marks.flatMap(({ startS, endS }) => (endS === null ? [startS] : [startS, endS]));
  warnOutside(table, { what: 'marks', option: '--marks-offset', timeBase, timesS, offsetS }, context);
}

export function warnReadingsOutside(
  table: FrameTable,
  { series, timeBase }: ReferenceFile,
  offsetS: number,
  context: Pick<TaskContext, 'warn'>,
): void {
  const timesS = series.flatMap(({ timeS }) => [...timeS]);
  warnOutside(table, { what: 'readings', option: '--reference-offset', timeBase, timesS, offsetS }, context);
}
