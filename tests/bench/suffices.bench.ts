/**
 * "Before you cut it up" beside the vehicle: all that `draft --suffices` works out of two minutes of a full vehicle (two buses, some fifty identifiers), in one
 * thread, against reading the same file. Read the ratio, not the times; nothing here is asserted.
 */
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { bench, describe } from 'vitest';
import { parseMarks } from '../../src/actions/marks.ts';
import { openCapture, type TaskContext } from '../../src/cli/tasks/context.ts';
import { sufficesTask } from '../../src/cli/tasks/suffices.ts';
import { marksCsv, observeMarks } from '../../src/demo/marks.ts';
import { recordDrive } from '../../src/demo/record.ts';
import { PLAIN_LOGGER } from '../../src/demo/recording/logger.ts';
import { writeScript } from '../../src/demo/script.ts';
import { vehicleFor } from '../../src/demo/vehicle.ts';
import { writeLogLines } from '../../src/demo/writers/log-lines.ts';
import { inPlaceRunner } from '../../src/jobs/run-analysis.ts';

const SEED = 773;
const { startEpochS } = PLAIN_LOGGER;
const script = writeScript(SEED, { durationS: 120 });
const path = join(mkdtempSync(join(tmpdir(), 'loomscribe-bench-')), 'full.log');
writeFileSync(path, writeLogLines(recordDrive(vehicleFor('dense', SEED), script, { seed: SEED }).recording));
const parsed = parseMarks(
  marksCsv(observeMarks(script, { startEpochS, aheadS: 1.4, missed: 1, extra: 0, seed: SEED })),
  'marks.csv',
);
if (!parsed.ok) throw new Error('the marks do not parse');
const marks = parsed.value;

const context: TaskContext = { control: {}, createRunner: inPlaceRunner, warn: () => undefined };
const capture = { files: [{ path }], read: {} };
const once = { iterations: 1, time: 0, warmupIterations: 0, warmupTime: 0 };

describe('whether a recording suffices', () => {
  bench('reading the file', async () => void (await openCapture(capture, context)), once);
  const asked = { ...capture, marksOffset: 'auto' as const, hand: {}, donor: 'drive' as const, seed: 1 };
  bench(
    'all that is said, without marks',
    async () => void (await sufficesTask({ ...asked, marks: null }, context)),
    once,
  );
  bench('all that is said, with marks', async () => void (await sufficesTask({ ...asked, marks }, context)), once);
});
