/** The README's first command, as a process: builds, serves, prints the address, and the page at it is the workbench. */
import { spawn, type ChildProcess } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { afterAll, expect, test } from 'vitest';
import { ROOT } from '../support/command.ts';
import { benchForTests } from './shell-support.ts';

const START = fileURLToPath(new URL('../../src/cli/start.mjs', import.meta.url));
let started: ChildProcess | null = null;
afterAll(() => {
  started?.kill();
});
const bench = benchForTests();

function addressOf(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let said = '';
    child.stdout?.on('data', (chunk: Buffer) => {
      said += chunk.toString();
      const match = /Loomscribe is at (http:\S+)/.exec(said);
      if (match) resolve(match[1] as string);
    });
    child.stderr?.on('data', (chunk: Buffer) => (said += chunk.toString()));
    child.on('exit', (code) => reject(new Error(`ended with ${code} before it served:\n${said}`)));
  });
}

test('npm start builds the page, serves it and prints its address', async () => {
  // Started from elsewhere on purpose: it must find its own checkout.
  started = spawn(process.execPath, [START], { cwd: `${ROOT}/docs`, env: { ...process.env, PORT: '0' } });
  const address = await addressOf(started);
  const { page, context, errors } = await bench.open();
  await page.goto(address);
  await page.getByRole('button', { name: 'Open the demo dossier' }).waitFor();
  expect(errors).toEqual([]);
  await context.close();
});
