/** The demo, written once by the command line into a folder of its own, for tests that want files. */
import { existsSync, mkdirSync, mkdtempSync, renameSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { loomscribe } from './command.ts';

export interface DemoFolder {
  readonly path: string;
  readonly main: string;
  readonly second: string;
  readonly unplugged: string;
  readonly marks: string;
  readonly reference: string;
  readonly trueMap: string;
}

/** Made anew for each run of the tests: the process that runs them is the key. */
const shared = join(tmpdir(), `loomscribe-demo-${process.ppid}`);

export async function demoFolder(): Promise<DemoFolder> {
  if (!existsSync(shared)) {
    const making = mkdtempSync(join(tmpdir(), 'loomscribe-demo-making-'));
    const ended = await loomscribe(['demo', '-o', making]);
    if (ended.code !== 0) throw new Error(`loomscribe demo ended with ${ended.code}:\n${ended.err}`);
    mkdirSync(tmpdir(), { recursive: true });
    try {
      renameSync(making, shared);
    } catch {
      // Another test file was faster.
      rmSync(making, { recursive: true, force: true });
    }
  }
  const file = (name: string): string => {
    const path = join(shared, name);
    if (!statSync(path).isFile()) throw new Error(`the demo lacks ${name}`);
    return path;
  };
  return {
    path: shared,
    main: file('drive-1.log'),
    second: file('drive-2.pcapng'),
    unplugged: file('inverter-unplugged.csv'),
    marks: file('marks-1.csv'),
    reference: file('reference-1.csv'),
    trueMap: file('true-map.json'),
  };
}
