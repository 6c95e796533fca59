/** The logger asks, vehicle control answers: one question after the other over the parameters, while the powertrain is awake. */
import { createRandom } from '../../kit/random.ts';
import { compileEncoder } from '../../map/encode.ts';
import { PARAMETERS, REPLY_DELAY_MS, type Parameter } from '../making/diagnostic-frames.ts';
import type { Truth } from '../physics/simulate.ts';
import type { TrueFrame, Vehicle } from '../true-frame.ts';
import { Requests } from './requests.ts';

const SERVICE = 0x01;
const ANSWER = 0x41;

function question({ pid }: Parameter, frame: TrueFrame): Uint8Array {
  const payload = frame.base.slice();
  payload.set([2, SERVICE, pid]);
  return payload;
}

function answer(
  parameter: Parameter,
  frame: TrueFrame,
  encoder: ReturnType<typeof compileEncoder>,
  physical: number,
): Uint8Array {
  const payload = frame.base.slice();
  const { pid, bytes, scale, offset } = parameter;
  payload.set([2 + bytes, ANSWER, pid]);
  const most = offset + scale * (2 ** (8 * bytes) - 1);
  encoder
    .signal(`reported_${parameter.quantity}`)
    ?.writePhysical(Math.min(most, Math.max(offset, physical)), payload, 0);
  return payload;
}

/** Questions every `periodMs`; an empty list where the logger does not ask. */
export function askDiagnostics(vehicle: Vehicle, truth: Truth, periodMs: number, seed: number): Requests {
  const requests = new Requests();
  if (periodMs <= 0) return requests;
  const random = createRandom(seed).fork('diagnostics');
  const asking = vehicle.frames.findIndex(({ diagnostic }) => diagnostic === 'request');
  const answering = vehicle.frames.findIndex(({ diagnostic }) => diagnostic === 'reply');
  const encoder = compileEncoder((vehicle.frames[answering] as TrueFrame).map);
  const endS = truth.steps * truth.stepS;
  let turn = 0;
  for (let timeS = 1; timeS < endS; timeS += (periodMs / 1000) * random.between(0.98, 1.04)) {
    const step = Math.floor(timeS / truth.stepS);
    const settled = truth.powertrainAwake[step] === 1 && truth.powertrainAwake[Math.max(0, step - 200)] === 1;
    if (!settled) continue;
    const parameter = PARAMETERS[turn++ % PARAMETERS.length] as Parameter;
    const physical = truth.columns[parameter.quantity][step] as number;
    requests.add(timeS * 1e6, asking, question(parameter, vehicle.frames[asking] as TrueFrame));
    const delayUs = 1000 * REPLY_DELAY_MS * random.between(0.5, 1.6);
    requests.add(
      timeS * 1e6 + delayUs,
      answering,
      answer(parameter, vehicle.frames[answering] as TrueFrame, encoder, physical),
    );
  }
  return requests;
}
