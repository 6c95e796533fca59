/** The command runs a bundle of its sources: that says what the sources say, and a folder without one is given one. */
import { execFileSync, spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { ROOT } from '../support/command.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-bundle-'));
const log = join(folder, 'steps.log');
writeFileSync(
  log,
  Array.from({ length: 300 }, (_, i) => {
    const stamp = `(${1_700_000_000 + Math.floor(i / 100)}.${String((i % 100) * 10_000).padStart(6, '0')})`;
    return `${stamp} can0 1F4#${(i % 16).toString(16).padStart(2, '0')}0055`;
  }).join('\n') + '\n',
);

/** Starts the sources without a bundle. */
const loader = join(folder, 'loaded.mjs');
writeFileSync(
  loader,
  `import { register } from ${JSON.stringify(import.meta.resolve('tsx/esm/api'))};
register();
const { main } = await import(${JSON.stringify(join(ROOT, 'src/cli/main.ts'))});
process.exitCode = await main(process.argv.slice(2));
`,
);

it('says what the sources as they are say, from worker threads too', () => {
  for (const words of [['--help'], ['fields', log, '--json']]) {
    const bundled = execFileSync(process.execPath, [join(ROOT, 'src/cli/loomscribe.mjs'), ...words], { cwd: ROOT });
    const loaded = execFileSync(process.execPath, [loader, ...words], { cwd: ROOT });
    expect(bundled.toString()).toBe(loaded.toString());
    expect(bundled.length).toBeGreaterThan(100);
  }
});

/** A checkout of its own with the packages of this one, but a cache of its own. */
function checkout(): string {
  const copy = mkdtempSync(join(folder, 'checkout-'));
  for (const part of ['src', 'workers', 'package.json', 'package-lock.json'])
    cpSync(join(ROOT, part), join(copy, part), { recursive: true });
  mkdirSync(join(copy, 'node_modules'));
  for (const name of readdirSync(join(ROOT, 'node_modules')).filter((each) => !each.startsWith('.')))
    symlinkSync(join(ROOT, 'node_modules', name), join(copy, 'node_modules', name));
  return copy;
}

it('is made where there is none, made anew when a source changes, and done without where it cannot be written', () => {
  const copy = checkout();
  const cache = join(copy, 'node_modules', '.cache', 'loomscribe');
  const said = (): string => {
    const { stdout, stderr } = spawnSync(process.execPath, [join(copy, 'src/cli/loomscribe.mjs'), '--version']);
    return stdout.toString() + stderr.toString();
  };
  const first = said();
  expect(first).toMatch(/^\d+\.\d+\.\d+\n$/);
  expect(readdirSync(cache)).toHaveLength(1);
  expect(said()).toBe(first);
  expect(readdirSync(cache)).toHaveLength(1);

  writeFileSync(
    join(copy, 'src/cli/version.ts'),
    "export const VERSION = 'changed';\nexport const MADE_BY = VERSION;\n",
  );
  expect(said()).toBe('changed\n');
  expect(readdirSync(cache)).toHaveLength(2);

  const bare = checkout();
  // A file where the folder should be: nothing can be written there, whoever asks.
  writeFileSync(join(bare, 'node_modules', '.cache'), '');
  const { stdout } = spawnSync(process.execPath, [join(bare, 'src/cli/loomscribe.mjs'), '--version']);
  expect(stdout.toString()).toBe(first);
  expect(existsSync(join(bare, 'node_modules', '.cache', 'loomscribe'))).toBe(false);
});
