/**
 * Finds a Chromium and starts it. Order: LOOMSCRIBE_CHROMIUM (a path), the system's, else the binary that ships inside
 * a registry package. A missing browser is a failure that says what to install, never a skip.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { brotliDecompressSync } from 'node:zlib';
import { chromium, type Browser } from 'playwright-core';

const SYSTEM_PATHS = [
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/usr/bin/google-chrome-stable',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
];

const LAUNCH_ARGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

interface FoundBrowser {
  readonly path: string;
  readonly env: Record<string, string>;
}

function runs(path: string, env: Record<string, string>): boolean {
  const result = spawnSync(path, ['--version'], { env: { ...process.env, ...env }, timeout: 30_000 });
  return result.status === 0;
}

/** Shared libraries that a bare server image lacks; the package ships them for its own use. */
function unpackLibraries(packageFolder: string, target: string): string {
  const marker = join(target, 'unpacked');
  if (!existsSync(marker)) {
    mkdirSync(target, { recursive: true });
    const archive = join(target, 'libraries.tar');
    writeFileSync(archive, brotliDecompressSync(readFileSync(join(packageFolder, 'bin', 'al2023.tar.br'))));
    const untar = spawnSync('tar', ['-xf', archive, '-C', target]);
    if (untar.status !== 0) throw new Error(`could not unpack ${archive}: ${String(untar.stderr)}`);
    writeFileSync(marker, '');
  }
  return join(target, 'lib');
}

async function bundledBrowser(): Promise<FoundBrowser> {
  const folder = dirname(dirname(dirname(createRequire(import.meta.url).resolve('@sparticuz/chromium'))));
  const scratch = join(tmpdir(), 'loomscribe-chromium');
  mkdirSync(scratch, { recursive: true });
  // The package unpacks into the temporary folder that it finds; give it one of its own.
  process.env['TMPDIR'] = scratch;
  const { default: bundled } = await import('@sparticuz/chromium');
  const path = await bundled.executablePath();
  if (runs(path, {})) return { path, env: {} };
  return { path, env: { LD_LIBRARY_PATH: unpackLibraries(folder, join(scratch, 'libraries')) } };
}

export async function findBrowser(): Promise<FoundBrowser> {
  const given = process.env['LOOMSCRIBE_CHROMIUM'];
  if (given === 'bundled') return bundledBrowser();
  if (given) {
    if (!existsSync(given)) throw new Error(`LOOMSCRIBE_CHROMIUM names ${given}, which does not exist.`);
    return { path: given, env: {} };
  }
  const system = SYSTEM_PATHS.find((path) => existsSync(path));
  if (system) return { path: system, env: {} };
  try {
    const found = await bundledBrowser();
    if (runs(found.path, found.env)) return found;
  } catch (error) {
    throw missingBrowser(String(error));
  }
  throw missingBrowser('the bundled binary does not run here');
}

function missingBrowser(cause: string): Error {
  return new Error(
    `No Chromium to test the page with (${cause}). Install one (on Debian: apt-get install chromium) ` +
      'or set LOOMSCRIBE_CHROMIUM to the path of a Chromium binary.',
  );
}

export async function launchBrowser(): Promise<Browser> {
  const { path, env } = await findBrowser();
  return chromium.launch({
    executablePath: path,
    args: LAUNCH_ARGS,
    env: { ...process.env, ...env } as Record<string, string>,
  });
}
