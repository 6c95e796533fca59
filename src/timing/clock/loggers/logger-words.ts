/** What is said to a person of the clocks of several loggers. */
import type { LoggerClock } from '../../../frames/table.ts';
import { grouped } from '../../../kit/figures.ts';
import type { Logger, Stretch } from './align.ts';
import type { ClockLine } from './line.ts';

export const NOT_ALIGNED =
  'no payloads in common tell how the two clocks lie to each other: nothing across them may be said';

function seconds(us: number): string {
  const size = Math.abs(us);
  const sign = us < 0 ? '-' : '+';
  if (size < 1e6) return `${sign}${Number((size / 1000).toPrecision(4))} ms`;
  return `${sign}${(size / 1e6).toFixed(3)} s`;
}

const ms = (us: number): string => `${Number((us / 1000).toPrecision(2))} ms`;

function waysWords({ forth, back, untold, boundsUs, offsetUs }: ClockLine): string {
  if (boundsUs) {
    return `copies go both ways (${forth} and ${back} identifiers) and bound the offset to ${seconds(boundsUs[0])} .. ${seconds(boundsUs[1])}`;
  }
  const way =
    forth + back > 0
      ? 'copies go one way only'
      : `which way ${untold === 1 ? 'the copy goes' : 'copies go'} does not show`;
  return `${way}, so the offset of ${seconds(offsetUs)} cannot be told from the gateway's own delay: a few ms are a guess`;
}

const driftWords = ({ drift, driftSe }: ClockLine): string =>
  `${(1e6 * drift).toFixed(2)} ppm (se ${Number((1e6 * driftSe).toPrecision(2))})`;

export function alignedWords(first: Logger, stretches: readonly Stretch[]): string {
  const n = stretches.reduce((sum, { line }) => sum + line.n, 0);
  const last = (stretches[stretches.length - 1] as Stretch).line;
  const start = `moved onto the clock of ${first.buses.join(', ')} by ${grouped(n)} frames that both heard: ahead by ${seconds(last.offsetUs)} (se ${ms(last.offsetSeUs)}), gaining ${driftWords(last)}`;
  const steps = stretches
    .slice(1)
    .map(({ fromUs, line }, at) => {
      const before = (stretches[at] as Stretch).line;
      const step = line.offsetUs - before.offsetUs - before.drift * (line.pivotUs - before.pivotUs);
      return `${seconds(step)} near ${(fromUs / 1e6).toFixed(1)} s of its own time`;
    })
    .join(', ');
  return [start, ...(steps ? [`it was set meanwhile: ${steps}`] : []), waysWords(last)].join('; ');
}

export const sameClockWords = (first: Logger, line: ClockLine): string =>
  `taken for one clock with ${first.buses.join(', ')}: over ${grouped(line.n)} frames that both heard no offset beyond a gateway's delay shows (se ${ms(line.offsetSeUs)}), and no drift: ${driftWords(line)}`;

/** One sentence for the verdict of the capture. */
export function loggerSentence({ buses, state, why }: LoggerClock): string {
  const names = buses.join(', ');
  if (state === 'not-aligned') return `${names}: recorded by another clock, not aligned: ${why}.`;
  return `${names}: ${why}.`;
}
