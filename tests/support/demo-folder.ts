/** The demo, written once by the command line into a folder of its own, for tests that want files; and a small cut of it. */
import { existsSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as later } from 'node:timers/promises';
import { loomscribe } from './command.ts';

export interface DemoFolder {
  readonly path: string;
  readonly main: string;
  /** The main capture with a few identifiers only: those that hold what marks and readings speak of. */
  readonly cut: string;
  readonly second: string;
  readonly unplugged: string;
  readonly marks: string;
  readonly reference: string;
  readonly trueMap: string;
}

/** Made anew for each run of the tests: the process that runs them is the key. */
const shared = join(tmpdir(), `loomscribe-demo-${process.ppid}`);
const PATIENCE_MS = 110_000;

interface NamedFrame {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly signals: readonly { readonly name: string }[];
}

const IN_THE_CUT = ['accelerator', 'brake_pressed', 'vehicle_speed', 'pack_voltage', 'door_driver'];

/** Log lines of the first frame of each kind above. */
function cutLines(log: string, frames: readonly NamedFrame[]): string {
  const keys = IN_THE_CUT.map((signal) => {
    const frame = frames.find(({ signals }) => signals.some(({ name }) => name === signal));
    if (!frame) throw new Error(`the demo's true map has no ${signal}`);
    return ` ${frame.bus} ${frame.id.slice(2).padStart(frame.extended ? 8 : 3, '0')}#`;
  });
  const lines = log.split('\n').filter((line) => keys.some((key) => line.includes(key)));
  return lines.join('\n') + '\n';
}

async function makeDemo(): Promise<void> {
  const making = mkdtempSync(join(tmpdir(), 'loomscribe-demo-making-'));
  const ended = await loomscribe(['demo', '-o', making]);
  if (ended.code !== 0) throw new Error(`loomscribe demo ended with ${ended.code}:\n${ended.err}`);
  const text = (name: string): string => readFileSync(join(making, name), 'utf8');
  const { frames } = JSON.parse(text('true-map.json')) as { frames: NamedFrame[] };
  writeFileSync(join(making, 'cut.log'), cutLines(text('drive-1.log'), frames));
  renameSync(making, shared);
}

/** One test file makes it, the others wait. */
async function madeOnce(): Promise<void> {
  const lock = `${shared}.making`;
  const deadline = Date.now() + PATIENCE_MS;
  while (!existsSync(shared)) {
    try {
      mkdirSync(lock);
    } catch {
      if (Date.now() > deadline) throw new Error(`the demo was not made in time; if nobody makes it, remove ${lock}`);
      await later(100);
      continue;
    }
    try {
      if (!existsSync(shared)) await makeDemo();
    } finally {
      rmSync(lock, { recursive: true, force: true });
    }
  }
}

export async function demoFolder(): Promise<DemoFolder> {
  await madeOnce();
  const file = (name: string): string => {
    const path = join(shared, name);
    if (!statSync(path).isFile()) throw new Error(`the demo lacks ${name}`);
    return path;
  };
  return {
    path: shared,
    main: file('drive-1.log'),
    cut: file('cut.log'),
    second: file('drive-2.pcapng'),
    unplugged: file('inverter-unplugged.csv'),
    marks: file('marks-1.csv'),
    reference: file('reference-1.csv'),
    trueMap: file('true-map.json'),
  };
}
