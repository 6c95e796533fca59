/**
 * Whether the vehicle was recorded from sleep to sleep, and in each of its modes. What turns the traffic took is in the survey's modes; without marks
 * nobody can say whether steady traffic was "ready" or "driving", so those are then not told rather than missing.
 */
import type { Mark } from '../../actions/types.ts';
import type { ModeSpan, SurveyFrame } from '../../timing/types.ts';
import { topicOf } from './card-rows.ts';
import type { DonorCan, Need, Verdict } from './types.ts';

/** Spans shorter than this hold too few frames of slow identifiers (many are sent once a second; common practice, no source). */
const MODE_LEAST_S = 5;

/** "driving 2" is driving with other traffic. */
const plainName = (mode: string): string => mode.replace(/ \d+$/, '');

const isSleep = (mode: string): boolean => mode === 'asleep';
/** A wake or a shut-down at the recording's very edge may be cut short; the survey names it only where both sides show. */
const hasMode = (modes: readonly ModeSpan[], name: string): boolean =>
  modes.some(({ mode }) => plainName(mode) === name);

const KEY_ON = /^(on|acc|start|run|1|2)$/i;
/** Marks lie a reaction late, and modules start within so long. */
const AT_START_S = 2;

/** Whether somebody turned it on as the first frames came: a logger that had waited in silence has nothing to show of it. */
function wasTurnedOn(marks: readonly Mark[]): boolean {
  return marks.some(
    ({ action, value = '', startS }) =>
      topicOf(action, value) === 'key' && (KEY_ON.test(value.trim()) || /\bon\b/i.test(action)) && startS <= AT_START_S,
  );
}

/** Identifiers whose first frame came so much later than their period allows that they began to send within the recording. */
const LATE_PERIODS = 3;
const LATE_LEAST_S = 0.05;
/** So many begin late where it woke; a lost frame or two make one of them look so. */
const LATE_SENDERS_LEAST = 3;

const beganLate = (frames: readonly SurveyFrame[]): number =>
  frames.filter(
    ({ direction, timing, medianIntervalMs, firstS }) =>
      direction === 'received' &&
      timing.kind === 'periodic' &&
      medianIntervalMs !== null &&
      firstS > Math.max(LATE_LEAST_S, (LATE_PERIODS * medianIntervalMs) / 1000) &&
      firstS <= AT_START_S,
  ).length;

function wakeNeed(modes: readonly ModeSpan[], marks: readonly Mark[], frames: readonly SurveyFrame[]): Need {
  const spans = modes.filter(({ mode }, at) => mode === 'waking' || (at > 0 && isSleep(modes[at - 1]?.mode ?? '')));
  const [first] = spans;
  const late = beganLate(frames);
  const turnedOn = wasTurnedOn(marks);
  // The recording's first frame is the first that came: silence before it leaves no trace but in who follows when.
  const began = turnedOn && late >= LATE_SENDERS_LEAST;
  const verdict: Verdict = first || began ? 'enough' : modes.length === 0 || turnedOn ? 'cannot-tell' : 'short';
  return {
    key: 'wake',
    what: 'wake',
    about: '',
    verdict,
    figures: { times: spans.length, beganLate: late },
    says: first
      ? `The wake from sleep is in it (from ${first.fromS.toFixed(1)} s).`
      : began
        ? `It was turned on as the first frames came, and ${late} identifiers began to be sent after the others: the wake is in it.`
        : turnedOn
          ? 'It was turned on as the first frames came: the wake is in it, unless the logger was started late.'
          : modes.length === 0
            ? 'Without stamps nobody can say whether it woke in this recording.'
            : 'It begins with the vehicle awake: who wakes whom, and what each module sends first, is not in it.',
    ...(first ? { moments: [first.fromS] } : {}),
  };
}

const KEY_OFF = /^(off|0|out|lock)$/i;
/** Powertrains stay awake for up to minutes behind the key; within this a recording that ends may have seen it. */
const AFTER_KEY_S = 120;

/** Whether somebody turned it off so late that traffic that ends there at once may have been the sleep itself. */
function wasTurnedOff(marks: readonly Mark[], endS: number): boolean {
  return marks.some(
    ({ action, value = '', startS }) =>
      (KEY_OFF.test(value.trim()) || /\b(key|ignition)\b.*\boff\b/i.test(action)) &&
      startS <= endS &&
      startS > endS - AFTER_KEY_S,
  );
}

function shutDownNeed(modes: readonly ModeSpan[], marks: readonly Mark[], endS: number): Need {
  const spans = modes.filter(({ mode }, at) => mode === 'shutting down' || (at > 0 && isSleep(mode)));
  const last = spans.at(-1);
  const turnedOff = wasTurnedOff(marks, endS);
  const verdict: Verdict = last ? 'enough' : modes.length === 0 || turnedOff ? 'cannot-tell' : 'short';
  return {
    key: 'shut-down',
    what: 'shut-down',
    about: '',
    verdict,
    figures: { times: spans.length },
    says: last
      ? `The shut-down is in it (from ${last.fromS.toFixed(1)} s).`
      : turnedOff
        ? 'It was turned off, yet all were still sending when the recording ended, or fell silent at once: the logger may have been stopped too early.'
        : modes.length === 0
          ? 'Without stamps nobody can say whether it shut down in this recording.'
          : 'It ends with the vehicle awake: in which order modules fall silent, and what they send last, is not in it.',
    ...(last ? { moments: [last.fromS] } : {}),
  };
}

/** What a donor can be brought into, besides sleep. */
const MODES: Readonly<Record<DonorCan, readonly string[]>> = {
  drive: ['on', 'ready', 'driving', 'charging'],
  'key-on': ['on'],
  bench: [],
};

const spansOf = (mode: string, modes: readonly ModeSpan[]): readonly ModeSpan[] =>
  modes.filter((span) => plainName(span.mode) === mode);
const secondsOf = (spans: readonly ModeSpan[]): number => spans.reduce((sum, { fromS, toS }) => sum + toS - fromS, 0);

/** Whether the mode was seen for so long that slow identifiers were heard in it. */
export const isLongEnough = (mode: string, modes: readonly ModeSpan[]): boolean =>
  secondsOf(spansOf(mode, modes)) >= MODE_LEAST_S;

function modeNeed(mode: string, modes: readonly ModeSpan[], isNamed: boolean): Need {
  const spans = spansOf(mode, modes);
  const seconds = secondsOf(spans);
  const isMissing = isNamed || (mode === 'on' && modes.length > 0);
  const verdict: Verdict =
    !isNamed && mode !== 'on'
      ? 'cannot-tell'
      : seconds >= MODE_LEAST_S
        ? 'enough'
        : isMissing
          ? 'short'
          : 'cannot-tell';
  const long = `${seconds.toFixed(0)} s`;
  const says: Readonly<Record<Verdict, string>> = {
    enough: `${long} of "${mode}".`,
    short:
      seconds > 0
        ? `Only ${long} of "${mode}": slow identifiers were hardly heard.`
        : `The vehicle was never "${mode}".`,
    'cannot-tell': `No mark says whether the vehicle was "${mode}".`,
  };
  return {
    key: `mode ${mode}`,
    what: 'mode',
    about: mode,
    verdict,
    figures: { seconds },
    says: says[verdict],
    ...(spans[0] ? { moments: [spans[0].fromS] } : {}),
  };
}

const NAMED = ['ready', 'driving', 'charging'];

/** @param marks on the capture's clock; endS: when the recording ends */
export function spanNeeds(
  modes: readonly ModeSpan[],
  marks: readonly Mark[],
  endS: number,
  donor: DonorCan,
  frames: readonly SurveyFrame[],
): readonly Need[] {
  const isNamed = NAMED.some((name) => hasMode(modes, name));
  // A part on the bench is powered up and down: it has a wake and an end, but no modes of a vehicle.
  return [
    wakeNeed(modes, marks, frames),
    shutDownNeed(modes, marks, endS),
    ...MODES[donor].map((mode) => modeNeed(mode, modes, isNamed)),
  ];
}
