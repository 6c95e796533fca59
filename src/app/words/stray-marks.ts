/** Marks that all lie outside their recording: most likely another recording's, or taken by a clock that is far off. */
import { clock, plural } from '../../kit/sheet-figures.ts';

interface Spanned {
  readonly startS: number;
  readonly endS: number | null;
}

/** Marks in seconds of the recording, which lasts `lastsS`; null where at least one of them lies in it. */
export function strayWords(marks: readonly Spanned[], lastsS: number): string | null {
  const inside = marks.some(({ startS, endS }) => startS <= lastsS && (endS ?? startS) >= 0);
  const first = marks[0];
  if (!first || inside) return null;
  const where = marks.length === 1 ? 'The mark lies' : `All ${plural(marks.length, 'mark')} lie`;
  return (
    `${where} outside this recording, which ends at ${clock(lastsS, 1)}: the first stands at ${clock(first.startS, 1)}. ` +
    'Either they belong to another recording, or their clock is further off than is searched: then type the offset in Marks.'
  );
}
