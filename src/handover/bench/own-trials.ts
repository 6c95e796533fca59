/** Trials that a person asks for once a set works: one frame of it falls silent, or one signal is sent with another value. */
import { bad, good, type Outcome, type Problem } from '../../kit/outcome.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { BenchState } from './next-step.ts';
import { nextNumber } from './record.ts';
import type { BenchRecord } from './record-schema.ts';
import type { TrialToRun } from './trial-files.ts';

/** After the stop it is watched for so much longer than trials usually are. */
const WATCH_STOP = 2;

const NOT_FOUND: Problem = {
  code: 'no-set-yet',
  message: 'no set of frames has been found to work yet.',
  advice: 'Run the trials of the search first.',
};

function neededOf({ step }: BenchState): readonly string[] | null {
  return step.kind === 'found' ? step.needed : null;
}

/** key: of a frame of the set. It falls silent once the part has had its usual time to start. */
export function stopTrial(record: BenchRecord, state: BenchState, key: string): Outcome<TrialToRun> {
  const sent = neededOf(state);
  if (sent === null) return bad(NOT_FOUND);
  if (!sent.includes(key)) {
    const message = `${key} is not in the set that works.`;
    return bad({ code: 'not-in-the-set', message, advice: `Name one of ${sent.join(', ')}.` });
  }
  const { sleepS, settleS } = state.counting;
  const stopped = { key, atS: settleS };
  return good({ number: nextNumber(record), aim: 'stop', sent, sleepS, settleS: settleS * (1 + WATCH_STOP), stopped });
}

/** The signal's frame need not be in the set: it is sent with it. */
export function varyTrial(
  map: SignalMap,
  record: BenchRecord,
  state: BenchState,
  value: NonNullable<TrialToRun['value']>,
): Outcome<TrialToRun> {
  const set = neededOf(state);
  if (set === null) return bad(NOT_FOUND);
  const frame = map.frames.find((each) => frameKey(each) === value.frame);
  const isKnown = frame?.signals.some(({ name }) => name === value.signal) ?? false;
  const isCandidate = record.candidates.some(({ key }) => key === value.frame);
  if (!isKnown || !isCandidate) {
    const message = `${value.signal} of ${value.frame} is no signal of a frame that trials may send.`;
    return bad({ code: 'not-sendable', message, advice: 'Release its frame by name first.' });
  }
  const { sleepS, settleS } = state.counting;
  return good({
    number: nextNumber(record),
    aim: 'vary',
    sent: [...new Set([...set, value.frame])],
    sleepS,
    settleS,
    value,
  });
}
