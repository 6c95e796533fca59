/** Simulates the demo vehicle and gives its files. */
import { demoFiles } from '../../demo/demo-files.ts';
import type { TaskContext } from './context.ts';

export interface DemoRequest {
  readonly seed?: number;
}

export interface WrittenFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly what: string;
}

export async function demoTask(request: DemoRequest, context: TaskContext): Promise<readonly WrittenFile[]> {
  return demoFiles(request.seed === undefined ? {} : { seed: request.seed }, context.control);
}
