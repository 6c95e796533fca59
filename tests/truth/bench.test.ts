/**
 * Trials on simulated modules until a minimal set of frames remains: `npm run scorecard -- bench` draws its seeds from the commit, `npm test` takes the
 * same every time. The modules record real frames, the judge reads them.
 */
import { afterAll, describe, expect, it } from 'vitest';
import { textTable } from '../../src/cli/text-table.ts';
import { isMinimal, makeModule, type BenchModule, type ModuleWish } from './bench-modules.ts';
import { runBench, type BenchRun } from './bench-person.ts';
import { seedsFor } from './support/vehicles.ts';

/** What every card has at least; all else is drawn. */
const WISHES: readonly ModuleWish[] = [
  { lacksWire: true },
  { needed: 0, flaky: 0 },
  { needed: 6, candidates: 60, flaky: 0.1 },
  { needed: 6, candidates: 8 },
  { needed: 1, candidates: 60, latches: true },
  { needed: 3, latches: true, flaky: 0.06 },
  { needed: 4, alternatives: true, flaky: 0.05 },
  { needed: 2, alternatives: true, latches: true },
  { needed: 3, keptAwake: true },
];
const TIMES = Number(process.env['LOOMSCRIBE_TIMES'] ?? '1');
const COUNT = 20 * TIMES;

interface Row {
  readonly module: BenchModule;
  readonly run: BenchRun;
  readonly isRight: boolean;
}

function isRight(module: BenchModule, { state: { step } }: BenchRun): boolean {
  if (module.lacksWire) return step.kind === 'checklist-first';
  return step.kind === 'found' && isMinimal(module, step.needed);
}

const { base, seeds } = seedsFor('bench', COUNT);
const rows: Row[] = [];

function cells({ module, run, isRight: right }: Row): string[] {
  const { bounds, counting, step } = run.state;
  return [
    String(bounds.candidates),
    module.lacksWire ? 'a wire' : String(module.clauses.length),
    module.clauses.some(({ anyOf }) => anyOf.length > 1) ? 'yes' : '',
    module.latchS === null ? '' : module.latchS.toFixed(0),
    `${(100 * module.flaky).toFixed(0)} %`,
    Math.max(0, ...module.clauses.map(({ debounceS }) => debounceS)).toFixed(1),
    String(run.record.trials.length),
    String(bounds.expectedByNeeded[module.clauses.length] ?? '-'),
    String(bounds.mostTrials),
    String(counting.leftOut.length),
    right ? step.kind : `WRONG: ${step.kind}`,
  ];
}

describe(`minimal sets on the bench (base ${base.slice(0, 10)})`, () => {
  seeds.forEach((seed, at) => {
    it(`module ${at + 1}`, { timeout: 120_000 }, () => {
      const module = makeModule(seed as number, WISHES[at % 20] ?? {});
      const run = runBench(module, seed as number);
      rows.push({ module, run, isRight: isRight(module, run) });
      expect(run.record.trials.length).toBeLessThanOrEqual(run.state.bounds.mostTrials);
    });
  });

  it('finds a true minimal set in 0.95 of them, or says that it is the wiring', () => {
    expect(rows).toHaveLength(COUNT);
    expect(rows.filter((row) => row.isRight).length / rows.length).toBeGreaterThanOrEqual(0.95);
  });

  it('takes about as many trials as it said before', () => {
    const found = rows.filter(({ module }) => !module.lacksWire);
    const taken = found.reduce((sum, { run }) => sum + run.record.trials.length, 0);
    const said = found.reduce(
      (sum, { module, run }) => sum + (run.state.bounds.expectedByNeeded[module.clauses.length] as number),
      0,
    );
    expect(taken / said).toBeGreaterThan(0.5);
    expect(taken / said).toBeLessThan(1.3);
  });

  afterAll(() => {
    const heads = [
      'candidates',
      'needs',
      'either/or',
      'fault stays s',
      'flaky',
      'debounce s',
      'trials',
      'expected',
      'most',
      'left out',
      'ends',
    ];
    const right = rows.filter((row) => row.isRight).length;
    const columns = heads.map((head) => ({ head, right: head !== 'ends' }));
    console.log(
      `the bench, seeds from ${base}\n\n${textTable(columns, rows.map(cells))}\n\n${right} of ${rows.length} right`,
    );
  });
});
