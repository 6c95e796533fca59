/** Starts the command line as a process, as a person would. */
import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';

export const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const COMMAND = fileURLToPath(new URL('../../src/cli/loomscribe.mjs', import.meta.url));

export interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

export function loomscribe(args: readonly string[], input?: string | Uint8Array): Promise<Ended> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [COMMAND, ...args], { cwd: ROOT, stdio: ['pipe', 'pipe', 'pipe'] });
    const out: Buffer[] = [];
    const err: Buffer[] = [];
    child.stdout.on('data', (chunk: Buffer) => out.push(chunk));
    child.stderr.on('data', (chunk: Buffer) => err.push(chunk));
    child.on('error', reject);
    child.on('close', (code) =>
      resolve({ code, out: Buffer.concat(out).toString('utf8'), err: Buffer.concat(err).toString('utf8') }),
    );
    child.stdin.on('error', () => undefined);
    child.stdin.end(input ?? '');
  });
}

/** Runs it, expects success, and parses what it printed. */
export async function jsonOf(args: readonly string[], input?: string | Uint8Array): Promise<unknown> {
  const ended = await loomscribe([...args, '--json'], input);
  if (ended.code !== 0) throw new Error(`loomscribe ${args.join(' ')} ended with ${ended.code}:\n${ended.err}`);
  return JSON.parse(ended.out);
}
