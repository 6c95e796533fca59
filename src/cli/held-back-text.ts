/** Frames that are not sent, by reason: one sentence, then the names it holds for, and how to let one out. */
import { wrapped } from './text-table.ts';

interface HeldBack {
  readonly name: string;
  readonly why: string;
}

const WIDTH = 100;

/** The reason of most frames first; reasons of as many in the order in which they came. */
function byReason(held: readonly HeldBack[]): [why: string, names: string[]][] {
  const groups = new Map<string, string[]>();
  for (const { name, why } of held) groups.set(why, [...(groups.get(why) ?? []), name]);
  return [...groups].sort(([, a], [, b]) => b.length - a.length);
}

/** @param says what is said of them, such as "are held back" */
export function heldBackText(held: readonly HeldBack[], says: string): string {
  if (held.length === 0) return '';
  const groups = byReason(held).map(([why, names]) => {
    const count = names.length > 1 ? `${names.length} frames: ` : '';
    return [wrapped(`- ${count}${why}`, WIDTH, '  '), `  ${wrapped(names.join(', '), WIDTH - 2, '  ')}`].join('\n');
  });
  const canRelease = held.some(({ why }) => why.includes('by name'));
  const how =
    'To let one out write --release NAME: its name in the map, or bus and identifier such as can0/0x1F4; once for each frame.';
  return [`${held.length} ${says}`, ...groups, ...(canRelease ? [wrapped(how, WIDTH, '')] : [])].join('\n');
}
