/** From a vehicle and a script to a recording: physics, modules, buses, logger, in that order. */
import { createRandom } from '../kit/random.ts';
import { arbitrate } from './recording/arbitrate.ts';
import { askDiagnostics } from './recording/diagnostics.ts';
import { log, PLAIN_LOGGER, type LoggerOptions, type Recording } from './recording/logger.ts';
import { scheduleModule } from './recording/schedule.ts';
import { simulate, type Truth } from './physics/simulate.ts';
import type { DriverScript } from './script.ts';
import type { Vehicle } from './true-frame.ts';

export interface Drive {
  readonly script: DriverScript;
  readonly truth: Truth;
  readonly recording: Recording;
}

export function recordDrive(vehicle: Vehicle, script: DriverScript, logger: Partial<LoggerOptions> = {}): Drive {
  const truth = simulate(vehicle.parameters, script);
  const requests = vehicle.modules.map((module, index) => ({
    bus: module.bus,
    requests: scheduleModule(vehicle, index, truth, script),
  }));
  const options = { ...PLAIN_LOGGER, ...logger };
  requests.push({ bus: 0, requests: askDiagnostics(vehicle, truth, options.askMs, script.seed) });
  const sources = vehicle.buses.map((_, bus) =>
    requests.filter((each) => each.bus === bus).map((each) => each.requests),
  );
  const sent = arbitrate(vehicle, sources, createRandom(script.seed).fork('buses'));
  return { script, truth, recording: log(vehicle, sent, options) };
}
