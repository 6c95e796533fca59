/**
 * The one test command: types, lint, layers, then every test (pure, spawned, real browser), and a closing line
 * "N passed, N failed" from the runner's JSON report. Arguments go to the runner: `npm test -- tests/map`.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../', import.meta.url));
const extra = process.argv.slice(2);
const bin = (name) => join(root, 'node_modules', '.bin', name);
const folder = mkdtempSync(join(tmpdir(), 'loomscribe-tests-'));
/** The run's temporary folder: whatever tests leave lying goes when the run ends. */
const env = { ...process.env, TMPDIR: folder };
const run = (name, args) => spawnSync(bin(name), args, { cwd: root, stdio: 'inherit', env }).status === 0;

let passed = 0;
let failed = 0;
function check(title, name, args) {
  const ok = run(name, args);
  if (ok) passed++;
  else failed++;
  console.log(`${ok ? 'holds' : 'FAILS'}: ${title}`);
}

if (extra.length === 0) {
  for (const part of ['core', 'node', 'app']) check(`types (${part})`, 'tsc', ['-p', `tsconfig.${part}.json`]);
  check('lint', 'eslint', ['.']);
  check('layers', 'depcruise', ['--config', '.dependency-cruiser.cjs', 'src', 'workers']);
  check('nothing unused', 'knip', []);
  check('the page builds', 'vite', ['build', '--logLevel', 'warn']);
}

const report = join(folder, 'report.json');
try {
  const ran = run('vitest', ['run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`, ...extra]);
  const { numPassedTests, numFailedTests, numFailedTestSuites, numPendingTests } = JSON.parse(
    readFileSync(report, 'utf8'),
  );
  passed += numPassedTests;
  // A file that fails to load has no failed test of its own, yet nothing in it ran.
  failed += numFailedTests > 0 ? numFailedTests : ran ? 0 : Math.max(1, numFailedTestSuites);
  if (numPendingTests > 0) console.log(`${numPendingTests} did not run here`);
} catch (error) {
  failed++;
  console.error(`The runner left no report: ${error.message}`);
} finally {
  rmSync(folder, { recursive: true, force: true });
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
