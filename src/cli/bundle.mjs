/**
 * The command line as a bundle of the TypeScript sources, made when they have changed: each start and each worker thread would
 * otherwise load some hundred files through the loader. Why so: docs/decisions/sources-bundled-when-they-change.md.
 */
import { createHash } from 'node:crypto';
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  utimesSync,
} from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../', import.meta.url));
const kept = join(root, 'node_modules', '.cache', 'loomscribe');
const KEPT_MS = 24 * 3600 * 1000;
/** Each is one file of the bundle at its place in the tree: what is inlined into it finds its threads by a path beside it. */
const ENTRIES = ['src/cli/main', 'workers/task.node', 'workers/capture.node', 'workers/compute.node'];
const NOT_READ = new Set(['src/app']);

function sourcesIn(folder) {
  return readdirSync(join(root, folder), { withFileTypes: true }).flatMap((entry) => {
    const path = `${folder}/${entry.name}`;
    if (entry.isDirectory()) return NOT_READ.has(path) ? [] : sourcesIn(path);
    return /\.(ts|mjs)$/.test(entry.name) ? [path] : [];
  });
}

/** Names the sources as they stand: the path, size and time of each, and of what was installed beside them. */
function stampOf() {
  const hash = createHash('sha256');
  for (const path of [...sourcesIn('src'), ...sourcesIn('workers'), 'package.json', 'package-lock.json']) {
    if (!existsSync(join(root, path))) continue;
    const { size, mtimeMs } = statSync(join(root, path));
    hash.update(`${path} ${size} ${mtimeMs}\n`);
  }
  return hash.digest('hex').slice(0, 24);
}

async function make(folder) {
  mkdirSync(kept, { recursive: true });
  // Made aside and moved as a whole: two that start at once each make one, and the second finds the first's.
  const making = mkdtempSync(join(kept, 'making-'));
  try {
    const { build } = await import('esbuild');
    await build({
      absWorkingDir: root,
      entryPoints: Object.fromEntries(ENTRIES.map((entry) => [entry, `${entry}.ts`])),
      outdir: making,
      outExtension: { '.js': '.mjs' },
      bundle: true,
      platform: 'node',
      target: 'node20',
      format: 'esm',
      // Packages written for the older module system ask for Node's modules by `require`.
      banner: {
        js: "import { createRequire as requireFrom } from 'node:module'; const require = requireFrom(import.meta.url);",
      },
      logLevel: 'silent',
    });
    copyFileSync(join(root, 'package.json'), join(making, 'package.json'));
    renameSync(making, folder);
  } catch (error) {
    rmSync(making, { recursive: true, force: true });
    if (!existsSync(folder)) throw error;
  }
  removeOld(folder);
}

function removeOld(current) {
  for (const name of readdirSync(kept)) {
    const folder = join(kept, name);
    try {
      if (folder !== current && Date.now() - statSync(folder).mtimeMs > KEPT_MS)
        rmSync(folder, { recursive: true, force: true });
    } catch {
      // Another start removed it first.
    }
  }
}

/** File of the bundle's `main`; null where no bundle can be made or written here. */
export async function bundledMain() {
  const folder = join(kept, stampOf());
  const main = join(folder, `${ENTRIES[0]}.mjs`);
  try {
    if (!existsSync(main)) await make(folder);
    else utimesSync(folder, new Date(), new Date());
  } catch {
    // A folder that cannot be written, or sources that do not parse: the loader runs them, or says what is wrong.
    return existsSync(main) ? main : null;
  }
  return main;
}
