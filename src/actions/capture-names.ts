/**
 * What a short capture's name says was done in it: "brake pressed 3.log" and "brake-pressed_02.asc" are both repetitions of
 * "brake pressed", "nothing 2" is a recording in which nothing was done. Rules are common practice, no source.
 */

export type NamedCapture =
  { readonly kind: 'action'; readonly action: string } | { readonly kind: 'control' } | { readonly kind: 'unclear' };

/** Recordings to hold the others against. */
const CONTROL = new Set(['idle', 'idling', 'nothing', 'baseline', 'rest', 'resting', 'control']);
/** Words that say what a file is, not what was done. */
const EMPTY = new Set(
  'capture captures recording log logfile trace file dump data new untitled unnamed main copy final can bus'.split(' '),
);
const COUNTING = new Set(['take', 'run', 'no', 'nr', 'rep', 'repetition', 'number', 'part']);

const FILE_ENDING = /\.[a-z][a-z0-9]{1,6}$/i;

function withoutEndings(name: string): string {
  const base = name.replace(/^.*[/\\]/, '').trim();
  const once = base.replace(FILE_ENDING, '');
  return once === base ? base : withoutEndings(once);
}

const isNumber = (word: string | undefined): boolean => word !== undefined && /^#?\d+$/.test(word);
/** "take 2", "2", "#2" at the end; dates, times and serial numbers in front. */
function withoutNumbers(words: readonly string[]): string[] {
  const left = [...words];
  while (isNumber(left[0])) left.shift();
  while (left.length > 0 && isNumber(left[left.length - 1])) {
    left.pop();
    if (left.length > 1 && COUNTING.has(left[left.length - 1] as string)) left.pop();
  }
  return left;
}

/** @param name a capture's title or file name, with or without folders and endings. */
export function readCaptureName(name: string): NamedCapture {
  const parted = withoutEndings(name)
    .toLowerCase()
    .replace(/[\s_\-.,;:()[\]{}]+/g, ' ')
    .trim();
  const words = withoutNumbers(parted.split(' '));
  const telling = words.filter((word) => /\p{L}{2}/u.test(word) && !EMPTY.has(word));
  if (telling.length === 0) return { kind: 'unclear' };
  if (telling.every((word) => CONTROL.has(word))) return { kind: 'control' };
  return { kind: 'action', action: words.join(' ') };
}

/** The first of several names (title, then files) that says something. */
export function readCaptureNames(names: readonly string[]): NamedCapture {
  return names.map(readCaptureName).find(({ kind }) => kind !== 'unclear') ?? { kind: 'unclear' };
}
