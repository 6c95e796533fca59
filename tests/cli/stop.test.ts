/** Ctrl C: the work ends at once, and the person is told that there is no result. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const COMMAND = fileURLToPath(new URL('../../src/cli/loomscribe.mjs', import.meta.url));
/** More than a pipe holds: written only when the command reads, and so is at work. */
const LINES = '(1780000000.000000) can0 123#0011223344556677\n'.repeat(50_000);

it(
  'Ctrl C ends it by the signal, which a shell shows as 130, and says that there is no result',
  { timeout: 60_000 },
  async () => {
    const child = spawn(process.execPath, [COMMAND, 'survey', '-', '--json'], { stdio: ['pipe', 'pipe', 'pipe'] });
    const [out, err]: [string[], string[]] = [[], []];
    child.stdout.on('data', (chunk: Buffer) => out.push(chunk.toString()));
    child.stderr.on('data', (chunk: Buffer) => err.push(chunk.toString()));
    child.stdin.on('error', () => undefined);
    await new Promise((read) => child.stdin.write(LINES, read));
    child.kill('SIGINT');
    const ended = (await once(child, 'close')) as [number | null, NodeJS.Signals | null];
    expect([...ended, out.join('')]).toEqual([null, 'SIGINT', '']);
    expect(err.join('')).toBe('Stopped by Ctrl C before it was done: there is no result.\n');
  },
);
