/** What the recording of one bench trial shows, and which files it was read from. */
import { part } from '../../kit/control.ts';
import type { ObservedTrial } from '../../handover/bench/observe.ts';
import type { TrialObservation } from '../../handover/bench/record-schema.ts';
import type { SignalMap } from '../../map/schema.ts';
import { analyse, openCapture, type CaptureRequest, type TaskContext } from './context.ts';

export interface BenchTaskRequest extends CaptureRequest {
  readonly map: Pick<SignalMap, 'frames'>;
  readonly trial: ObservedTrial;
}

export interface BenchTaskAnswer {
  readonly observed: TrialObservation;
  readonly files: readonly { readonly name: string; readonly bytes: number; readonly sha256: string }[];
}

export async function benchTask(request: BenchTaskRequest, context: TaskContext): Promise<BenchTaskAnswer> {
  const { map, trial } = request;
  const table = await openCapture(request, context, part(context.control, 0, 0.8));
  const observed = await analyse('trial', table, { job: 'trial', map, trial }, context, part(context.control, 0.8, 1));
  return { observed, files: table.files.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 })) };
}
