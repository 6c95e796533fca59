/**
 * A logger that is too slow, for the scorecard of "before you cut it up": frames wait in a buffer of so many, so many a second are written, and now and then
 * the computer does something else. It stays as slow in every trial: what settles the loss is only what a trial has it hear less of.
 */
import { recordDrive, type Drive } from '../../src/demo/record.ts';
import { frameAt, type Recording } from '../../src/demo/recording/logger.ts';
import type { TrueFrame, Vehicle } from '../../src/demo/true-frame.ts';
import { createRandom } from '../../src/kit/random.ts';
import { accepts } from '../../src/proof/suffices/logger-trial.ts';
import { nextRecordings } from '../../src/proof/suffices/next.ts';
import type { AcceptFilter, Need, RunCardStep } from '../../src/proof/suffices/types.ts';
import { whatSuffices } from '../../src/proof/suffices/suffices.ts';
import { askedOf, recordedAs, wholeScript, type Recorded } from './suffices-cases.ts';
import { followCard } from './suffices-person.ts';
import { tellWrong, type Scores } from './suffices-score.ts';

interface SlowLogger {
  readonly perS: number;
  readonly buffer: number;
  /** In each stretch of ten seconds once, so long. */
  readonly stallS: number;
  readonly seed: number;
}

const STRETCH_US = 10e6;
const LOST_MOST = 0.001;
/** So often a person asks again of a trial that still lost frames. */
const ROUNDS_MOST = 3;

const isHeard = ({ map, extended }: TrueFrame, filters: readonly (readonly AcceptFilter[])[]): boolean =>
  filters.every((any) => any.some((filter) => accepts(filter, { bus: map.bus, id: map.id, extended })));

/** What it keeps of all that was on the wires. */
function keptBy(logger: SlowLogger, whole: Recording, filters: readonly (readonly AcceptFilter[])[]): Recording {
  const random = createRandom(logger.seed).fork('stalls');
  const stalls = new Map<number, number>();
  const stallOf = (stretch: number): number => {
    const from = stalls.get(stretch) ?? (stretch + random.next() * 0.8) * STRETCH_US;
    stalls.set(stretch, from);
    return from;
  };
  const rows: number[] = [];
  let [waiting, lastUs, lost] = [0, 0, 0];
  for (let row = 0; row < whole.count; row++) {
    if (!isHeard(frameAt(whole, row), filters)) continue;
    const nowUs = whole.timeUs[row] as number;
    const stallUs = stallOf(Math.floor(nowUs / STRETCH_US));
    const isStalled = nowUs >= stallUs && nowUs < stallUs + logger.stallS * 1e6;
    if (!isStalled) waiting = Math.max(0, waiting - ((nowUs - lastUs) / 1e6) * logger.perS);
    lastUs = nowUs;
    if (waiting + 1 > logger.buffer) lost++;
    else {
      waiting++;
      rows.push(row);
    }
  }
  const picked = <T extends Float64Array | Uint16Array | Uint32Array>(all: T): T =>
    (all.constructor as unknown as { from(values: number[]): T }).from(rows.map((row) => all[row] as number));
  return {
    ...whole,
    count: rows.length,
    timeUs: picked(whole.timeUs),
    frame: picked(whole.frame),
    at: picked(whole.at),
    lost,
  };
}

const heardAs = (
  vehicle: Vehicle,
  drive: Drive,
  logger: SlowLogger,
  filters: readonly (readonly AcceptFilter[])[],
): Recorded => recordedAs(vehicle, { ...drive, recording: keptBy(logger, drive.recording, filters) }, []);

function driveOfCard(vehicle: Vehicle, card: readonly RunCardStep[], seed: number): Drive {
  return recordDrive(vehicle, followCard(card, seed).script, { seed });
}

/** Whether the trials proposed, and those proposed of them, end in parts that each lost nothing. */
async function isSettled(
  { vehicle }: Recorded,
  need: Need,
  frames: Parameters<typeof nextRecordings>[3],
  logger: SlowLogger,
  filters: readonly (readonly AcceptFilter[])[],
  rounds: number,
): Promise<boolean> {
  const trials = nextRecordings([need], [], 'drive', frames);
  const drive = driveOfCard(vehicle, trials[0]?.card ?? [], logger.seed + 17);
  for (const { hears } of trials) {
    // Another logger is not at hand.
    if (!hears) return false;
    const own = [...filters, hears];
    const again = heardAs(vehicle, drive, logger, own);
    const asked = await askedOf(again);
    const left = whatSuffices(asked).needs.find(({ key }) => key === need.key);
    if (left?.verdict === 'enough') continue;
    const isHalved =
      left?.verdict === 'short' &&
      rounds > 1 &&
      (await isSettled(again, left, asked.survey.frames, logger, own, rounds - 1));
    if (!isHalved) {
      tellWrong(`not settled (${logger.seed}): ${left?.verdict} ${left?.says} hearing ${JSON.stringify(own)}`);
      return false;
    }
  }
  return true;
}

export async function judgeLogger(vehicle: Vehicle, seed: number, scores: Scores): Promise<void> {
  const random = createRandom(seed).fork('slow logger');
  const drive = recordDrive(vehicle, wholeScript(seed), { seed });
  const perS = (drive.recording.count / drive.script.durationS) * random.between(0.4, 0.98);
  const logger: SlowLogger = { perS, buffer: 64 + random.below(448), stallS: random.between(0, 0.2), seed };
  const recorded = heardAs(vehicle, drive, logger, []);
  const { lost, count } = recorded.drive.recording;
  if (lost <= 2 * LOST_MOST * count) return;
  const score = scores.of(`frames lost, ${vehicle.buses.length === 1 ? 'one bus' : 'two buses'}`);
  score.planted++;
  const asked = await askedOf(recorded);
  const need = whatSuffices(asked).needs.find(({ what }) => what === 'frames-lost');
  if (need?.verdict !== 'short') {
    tellWrong(`not named (${seed}, ${lost} of ${count} lost): ${need?.says}`);
    return;
  }
  score.named++;
  score.short++;
  score.proposed++;
  if (await isSettled(recorded, need, asked.survey.frames, logger, [], ROUNDS_MOST)) score.settled++;
}
