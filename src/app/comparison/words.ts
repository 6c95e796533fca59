/** Sentences of the comparison: what it waits for, and what else is worth saying. Pure. */
import type { AppearanceCompared, ErrorsCompared } from '../../proof/compare/types.ts';
import { fixed, plural } from '../../kit/sheet-figures.ts';
import type { AskedComparison, AskedProfile } from './asking.ts';

const PHASES: Readonly<Record<string, string>> = {
  waiting: 'waits to be read',
  reading: 'is being read',
  failed: 'was not understood',
  stopped: 'was not read to its end',
  missing: 'is not in this browser: hand its file over again in Captures',
  unrecorded: 'has no recording yet',
};

function sideWords(which: string, { phase, slot, profile }: AskedProfile): string | null {
  if (profile) return null;
  if (slot?.state === 'failed') return `The ${which} capture could not be compared: ${slot.note}.`;
  if (phase === null) return `The ${which} capture is not open.`;
  return phase === 'ready'
    ? `Looking through the ${which} capture.`
    : `The ${which} capture ${PHASES[phase] ?? phase}.`;
}

/** Why there is no answer yet. */
export function waitingWords({ a, b, slot }: Pick<AskedComparison, 'a' | 'b' | 'slot'>): string {
  const said = [sideWords('first', a), sideWords('second', b)].filter((words) => words !== null);
  if (said.length > 0) return said.join(' ');
  if (slot?.state === 'stopped') return 'The comparison was stopped.';
  return slot?.state === 'failed' ? `They could not be compared: ${slot.note}.` : 'Comparing.';
}

const rate = (perSecond: number): string =>
  perSecond === 0 ? 'none' : `${perSecond < 10 ? fixed(perSecond, 2) : fixed(perSecond, 0)} a second`;

const ERROR_VERDICTS: Readonly<Record<ErrorsCompared['verdict'], string>> = {
  appeared: 'error frames appear',
  more: 'more error frames',
  fewer: 'fewer error frames',
  gone: 'error frames are gone',
  alike: 'error frames as before',
};

/** "can0: error frames appear from 3.2 s on; none before, 12 a second (11 to 13) now" */
export function errorWords({ bus, rateA, rateB, startsS, verdict }: ErrorsCompared): string {
  const from = verdict === 'appeared' && startsS !== null ? ` from ${fixed(startsS, 1)} s on` : '';
  const now = `${rate(rateB.perSecond)} (${fixed(rateB.low, 2)} to ${fixed(rateB.high, 2)})`;
  return `${bus}: ${ERROR_VERDICTS[verdict]}${from}; ${rate(rateA.perSecond)} before, ${now} now`;
}

export function appearanceWords({ compared, changed, why }: AppearanceCompared): string {
  if (compared === 0) return why;
  if (changed.length === 0)
    return `${plural(compared, 'identifier')} come after a waking in both, in the same order and at about the same time.`;
  return `${changed.length} of ${plural(compared, 'identifier')} come earlier or later after a waking than the others on their bus.`;
}
