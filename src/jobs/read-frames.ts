/** How a capture comes to be open, in the page and on the command line alike: read, then its loggers brought onto one clock. */
import { walkSteps } from '../frames/pictures/steps.ts';
import { readCapture } from '../frames/read-capture.ts';
import type { ReadingProgress, ReadOptions } from '../frames/reading-types.ts';
import type { CaptureInput } from '../frames/source.ts';
import type { FrameTable } from '../frames/table.ts';
import type { Control } from '../kit/control.ts';
import { good, type Outcome, type Problem } from '../kit/outcome.ts';
import { alignLoggers } from '../timing/clock/loggers/align.ts';

/** The reader's word that a file counts from another start is out of date once that start is known. */
function outOfDate({ code, place }: Problem, { loggers = [] }: FrameTable): boolean {
  const known = loggers.filter(({ state }) => state !== 'not-aligned').flatMap(({ files }) => files);
  return code === 'clocks-differ' && place?.file !== undefined && known.includes(place.file);
}

export async function readFrames(
  inputs: readonly CaptureInput[],
  options: ReadOptions,
  control: Control,
  onReading?: (progress: ReadingProgress) => void,
): Promise<Outcome<FrameTable>> {
  const outcome = await readCapture(inputs, options, control, onReading);
  if (!outcome.ok) return outcome;
  const table = await walkSteps(alignLoggers(outcome.value), control);
  return good(
    table,
    outcome.warnings.filter((warning) => !outOfDate(warning, table)),
  );
}
