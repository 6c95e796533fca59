/**
 * Whether the vehicle was recorded from sleep to sleep, and in each of its modes. What turns the traffic took is in the survey's modes; without marks
 * nobody can say whether steady traffic was "ready" or "driving", so those are then not told rather than missing.
 */
import type { Mark } from '../../actions/types.ts';
import type { ModeSpan } from '../../timing/types.ts';
import type { DonorCan, Need, Verdict } from './types.ts';

/** Spans shorter than this hold too few frames of slow identifiers (many are sent once a second; common practice, no source). */
const MODE_LEAST_S = 5;

/** "driving 2" is driving with other traffic. */
const plainName = (mode: string): string => mode.replace(/ \d+$/, '');

const isSleep = (mode: string): boolean => mode === 'asleep';
/** A wake or a shut-down at the recording's very edge may be cut short; the survey names it only where both sides show. */
const hasMode = (modes: readonly ModeSpan[], name: string): boolean =>
  modes.some(({ mode }) => plainName(mode) === name);

function wakeNeed(modes: readonly ModeSpan[]): Need {
  const spans = modes.filter(({ mode }, at) => mode === 'waking' || (at > 0 && isSleep(modes[at - 1]?.mode ?? '')));
  const [first] = spans;
  return {
    key: 'wake',
    what: 'wake',
    about: '',
    verdict: modes.length === 0 ? 'cannot-tell' : first ? 'enough' : 'short',
    figures: { times: spans.length },
    says: first
      ? `The wake from sleep is in it (from ${first.fromS.toFixed(1)} s).`
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

function modeNeed(mode: string, modes: readonly ModeSpan[], isNamed: boolean): Need {
  const spans = modes.filter((span) => plainName(span.mode) === mode);
  const seconds = spans.reduce((sum, { fromS, toS }) => sum + toS - fromS, 0);
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
): readonly Need[] {
  const isNamed = NAMED.some((name) => hasMode(modes, name));
  // A part on the bench is powered up and down: it has a wake and an end, but no modes of a vehicle.
  return [
    wakeNeed(modes),
    shutDownNeed(modes, marks, endS),
    ...MODES[donor].map((mode) => modeNeed(mode, modes, isNamed)),
  ];
}
