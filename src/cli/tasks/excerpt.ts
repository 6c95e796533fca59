/** A part of a capture for sending: reads capture and marks, and asks the job `excerpt`. */
import type { MarkFile } from '../../actions/types.ts';
import type { ExcerptAnswer, ExcerptAsked } from '../../handover/sending/prepare.ts';
import { part } from '../../kit/control.ts';
import { identifiersByBus, identifiersOfMap, matchBuses } from '../../proof/buses.ts';
import { CannotDo } from '../arguments.ts';
import { analyse, openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { namedModes } from './survey.ts';

export interface ExcerptTaskRequest extends CaptureRequest, Omit<ExcerptAsked, 'marks'> {
  readonly marks: MarkFile;
  readonly marksOffset: 'auto' | number;
  readonly seed: number;
}

const UNKNOWN_CLOCK =
  'Where the marks stand on the capture is not known: nothing in the data answers them for sure. Give --marks-offset S (capture time = mark time + S); for sending it is not guessed.';

/** @throws CannotDo where it is not known when the marks were made */
export async function excerptTask(request: ExcerptTaskRequest, context: TaskContext): Promise<ExcerptAnswer> {
  const { files, read, marks, marksOffset, seed, busMap, ...asked } = request;
  const table = await openCapture({ files, read }, context, part(context.control, 0, 0.4));
  const { named, clock } = await namedModes(
    table,
    { marks, marksOffset, seed },
    context,
    part(context.control, 0.4, 0.9),
  );
  const isKnown = clock?.from === 'given' || clock?.from === 'found' || marks.timeBase === 'capture';
  if (!isKnown) throw new CannotDo(UNKNOWN_CLOCK);
  const buses = Object.fromEntries(
    [...matchBuses(identifiersOfMap(asked.map), identifiersByBus(table), busMap ?? {})].filter(
      (pair): pair is [string, string] => pair[1] !== null,
    ),
  );
  const job = { job: 'excerpt' as const, ...asked, marks: named, busMap: buses };
  return analyse('excerpt', table, job, context, part(context.control, 0.9, 1));
}
