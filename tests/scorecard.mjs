/**
 * All scorecards in one go: `npm run scorecard`, or some by name: `npm run scorecard -- senders fields`. They are the tests of tests/truth,
 * run with seeds of the current commit; LOOMSCRIBE_SEED=TEXT draws other vehicles, and the same text the same ones again.
 */
import { execFileSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { startVitest } from 'vitest/node';

const root = fileURLToPath(new URL('../', import.meta.url));
const cards = readdirSync(new URL('truth/', import.meta.url))
  .filter((name) => name.endsWith('.test.ts'))
  .map((name) => name.replace('.test.ts', ''));
const wanted = process.argv.slice(2);
const unknown = wanted.filter((name) => !cards.includes(name));
if (unknown.length > 0) {
  console.error(`No scorecard is called ${unknown.join(', ')}. There are: ${cards.join(', ')}.`);
  process.exit(2);
}

function commit() {
  try {
    return execFileSync('git', ['rev-parse', 'HEAD'], { encoding: 'utf8', cwd: root }).trim();
  } catch {
    return 'no repository';
  }
}

const base = process.env.LOOMSCRIBE_SEED ?? commit();
process.env.LOOMSCRIBE_SEED = base;

/** Keeps what each card prints, to show it whole. */
class CardReporter {
  onInit(vitest) {
    this.vitest = vitest;
    this.texts = new Map();
  }

  onUserConsoleLog({ content, taskId }) {
    const file = this.vitest.state.idMap.get(taskId)?.file?.filepath ?? 'elsewhere';
    this.texts.set(file, (this.texts.get(file) ?? '') + content);
  }

  onTestRunEnd(modules) {
    const rows = [];
    for (const module of [...modules].sort((a, b) => a.moduleId.localeCompare(b.moduleId))) {
      const name = relative(root, module.moduleId);
      const tests = [...module.children.allTests()];
      const failed = tests.filter((test) => test.result().state === 'failed');
      const problems = [...module.errors(), ...failed.flatMap((test) => named(test))];
      console.log(`\n== ${name}\n\n${(this.texts.get(module.moduleId) ?? 'It printed no figures.').trim()}`);
      rows.push([name, tests.length, failed.length, module.diagnostic().duration / 1000, problems]);
    }
    console.log('\n== floors\n');
    for (const [name, tests, failed, seconds, problems] of rows) {
      const verdict = problems.length > 0 ? `${failed} of ${tests} FAIL` : `${tests} hold`;
      console.log(`${name.padEnd(36)} ${verdict.padEnd(16)} ${seconds.toFixed(0).padStart(4)} s`);
      for (const { message } of problems) console.log(`    ${message.split('\n')[0]}`);
    }
  }
}

const named = (test) => test.result().errors.map(({ message }) => ({ message: `${test.fullName}: ${message}` }));

console.log(`Scorecards over simulated vehicles, seeds from ${base}`);
const filters = (wanted.length > 0 ? wanted : cards).map((name) => `tests/truth/${name}.test.ts`);
const vitest = await startVitest('test', filters, {
  root,
  project: ['pure'],
  watch: false,
  reporters: [new CardReporter()],
});
await vitest.close();
