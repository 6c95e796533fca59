/** A strand in words: what screen readers hear while it is held, and the figures that table and panel share. */
import type { Strand } from '../../../timing/loom/model.ts';
import { clock, count, fixed, jitter, period, signed } from '../../../kit/sheet-figures.ts';

export const periodWords = (ms: number | null): string =>
  ms === null ? 'no period' : ms >= 1000 ? `${fixed(ms / 1000, 3)} s` : `${fixed(ms, ms < 100 ? 3 : 2)} ms`;

export const skewWords = (ppm: number | null): string => (ppm === null ? '' : `${signed(ppm, 1)} ppm`);

export const senderWords = ({ group, frame }: Strand): string => {
  if (frame.direction === 'sent') return 'sent by the logger';
  if (group) return `sender ${group}${frame.byHand ? ', by hand' : ''}`;
  return frame.copyOf ? `copied from ${frame.copyOf.bus}` : 'unknown sender';
};

export function strandWords(strand: Strand): string {
  const { shownId, name, stream, periodMs, jitterMs, timingWords } = strand;
  const timing = periodMs === null ? timingWords : `every ${period(periodMs)}, jitter ${jitter(jitterMs)}`;
  return [`${shownId} on ${stream.bus}`, name, senderWords(strand), timing].filter(Boolean).join(', ');
}

export const framesWords = ({ frame }: Strand): string => count(frame.count);

/** "12, and 2 silences": frames that a grid misses one by one, and stretches without any. */
export function missedWords({ frame }: Strand): string {
  const gaps = frame.gaps.length;
  const silences = gaps === 0 ? '' : gaps === 1 ? '1 silence' : `${gaps} silences`;
  if (frame.missed === null) return silences || 'not known';
  const missed = frame.missed === 0 ? 'none' : count(frame.missed);
  return silences ? `${missed}; ${silences}` : missed;
}

export const atWords = (s: number): string => clock(s, 2);
