/**
 * Serves the production build to browser tests on a free port, as plain static hosting would: no special headers. Builds it first where it is
 * missing or older than the sources.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { serveFolder } from '../../src/cli/static-server.mjs';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const BUILD = join(ROOT, 'dist', 'app');

function newestChange(folder: string): number {
  let newest = 0;
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    newest = Math.max(newest, entry.isDirectory() ? newestChange(path) : statSync(path).mtimeMs);
  }
  return newest;
}

function buildIfOutdated(): void {
  const index = join(BUILD, 'index.html');
  const sources = Math.max(newestChange(join(ROOT, 'src')), newestChange(join(ROOT, 'workers')));
  if (existsSync(index) && statSync(index).mtimeMs >= sources) return;
  const vite = join(ROOT, 'node_modules', 'vite', 'bin', 'vite.js');
  // The runner's own NODE_ENV would give a development build.
  const env = { ...process.env, NODE_ENV: 'production' };
  const built = spawnSync(process.execPath, [vite, 'build', '--logLevel', 'error'], {
    cwd: ROOT,
    encoding: 'utf8',
    env,
  });
  if (built.status !== 0) throw new Error(`the page does not build:\n${built.stdout}\n${built.stderr}`);
}

export interface Site {
  /** "http://127.0.0.1:43210/" */
  readonly address: string;
  close(): Promise<void>;
}

export async function serveBuild(): Promise<Site> {
  buildIfOutdated();
  return serveFolder(BUILD, 0);
}
