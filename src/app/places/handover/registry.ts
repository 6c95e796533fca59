/** The outputs that exist, in the order of their use. One that does nothing yet is not there. */
import { output as bench } from './bench/index.tsx';
import { output as c } from './c/index.tsx';
import { output as map } from './map/index.tsx';
import type { OutputDefinition, OutputName } from './output.ts';
import { output as plan } from './plan/index.tsx';
import { output as publish } from './publish/index.tsx';
import { output as report } from './report/index.tsx';
import { output as sending } from './sending/index.tsx';

export const OUTPUTS: readonly OutputDefinition[] = [map, c, plan, bench, sending, report, publish];

export const outputOf = (name: OutputName): OutputDefinition =>
  OUTPUTS.find((output) => output.name === name) ?? (OUTPUTS[0] as OutputDefinition);

/** The one that comes `by` places after it, round and round. */
export function outputBeside(name: OutputName, by: number): OutputName {
  const at = OUTPUTS.findIndex((output) => output.name === name);
  return (OUTPUTS[(at + by + OUTPUTS.length) % OUTPUTS.length] as OutputDefinition).name;
}
