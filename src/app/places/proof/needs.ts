/** What a recording is short of, as rows under headings; many guards with the same lack are one row. Pure. */
import type {
  Need,
  NeedKind,
  NextRecording,
  RunCardStep,
  Sufficiency,
  Verdict,
} from '../../../proof/suffices/types.ts';
import { plural } from '../../../kit/sheet-figures.ts';

export const NEED_VERDICTS: readonly Verdict[] = ['short', 'cannot-tell', 'enough'];

export const NEED_WORDS: Readonly<Record<Verdict, string>> = {
  short: 'short',
  'cannot-tell': 'cannot tell',
  enough: 'enough',
};

const KINDS: Readonly<Record<NeedKind, string>> = {
  wake: 'the wake from sleep',
  'shut-down': 'the shut-down',
  mode: 'the mode',
  repetitions: 'often enough',
  range: 'its range',
  apart: 'told apart',
  guard: 'guard',
  'frames-lost': 'frames lost',
  marks: 'marks',
};

/** "door opened, often enough"; "guard can0 0xC2 byte 7 bit 0, 8 bits" */
export function needTitle({ what, about }: Pick<Need, 'what' | 'about'>): string {
  const kind = KINDS[what];
  if (!about) return kind;
  return what === 'mode' || what === 'guard' ? `${kind} ${about}` : `${about}, ${kind}`;
}

export interface NeedRow {
  readonly key: string;
  readonly title: string;
  readonly says: string;
  readonly needs: readonly Need[];
}

/** Seconds. */
export const momentsOf = ({ needs }: NeedRow): readonly number[] => needs.flatMap(({ moments }) => moments ?? []);

export interface NeedSection {
  readonly verdict: Verdict;
  readonly rows: readonly NeedRow[];
}

/** From so many on they stand as one row. */
const FOLD_FROM = 4;

const rowOf = (need: Need): NeedRow => ({ key: need.key, title: needTitle(need), says: need.says, needs: [need] });

function folded(needs: readonly Need[], verdict: Verdict): NeedRow[] {
  const guards = needs.filter(({ what }) => what === 'guard');
  if (guards.length < FOLD_FROM) return needs.map(rowOf);
  const first = needs.indexOf(guards[0] as Need);
  const bits = guards.reduce((sum, need) => sum + (need.bits?.length ?? 0), 0);
  const says = {
    short: 'Their rules are not found.',
    'cannot-tell': `Their rules hold, but ${bits > 0 ? `${plural(bits, 'bit')} never moved: ` : ''}whether they cover those is not shown.`,
    enough: 'Their rules are known to the last bit.',
  }[verdict];
  const one = { key: `guards ${verdict}`, title: plural(guards.length, 'guard'), says, needs: guards };
  const others = needs.map((need, at) => ({ at, need })).filter(({ need }) => need.what !== 'guard');
  return [
    ...others.filter(({ at }) => at < first).map(({ need }) => rowOf(need)),
    one,
    ...others.filter(({ at }) => at > first).map(({ need }) => rowOf(need)),
  ];
}

/** Sections without rows are left out. */
export const sectionsOf = ({ needs }: Pick<Sufficiency, 'needs'>): readonly NeedSection[] =>
  NEED_VERDICTS.map((verdict) => ({
    verdict,
    rows: folded(
      needs.filter((need) => need.verdict === verdict),
      verdict,
    ),
  })).filter(({ rows }) => rows.length > 0);

export interface Settled {
  readonly kind: string;
  readonly about: string;
}

/** What a recording settles, kind by kind. */
export function settledBy({ settles }: Pick<NextRecording, 'settles'>, needs: readonly Need[]): readonly Settled[] {
  const own = needs.filter(({ key }) => settles.includes(key));
  const kinds = [...new Set(own.map(({ what }) => what))];
  return kinds.map((what) => {
    const all = own.filter((need) => need.what === what);
    if (what === 'guard')
      return { kind: 'perhaps', about: `${plural(all.length, 'guard')}: it moves what never moved` };
    const named = all.flatMap(({ about }) => (about ? [about] : []));
    return { kind: named.length > 0 ? KINDS[what] : 'also', about: named.join(', ') || KINDS[what] };
  });
}

export const minutes = (seconds: number): string => `about ${Math.max(1, Math.round(seconds / 60))} min`;

export function stepWords({ says, holdS, times }: RunCardStep): string {
  const held = holdS > 0 ? `, ${holdS} s` : '';
  return `${says}${held}${times > 1 ? `, ${times} times` : ''}`;
}

export interface CardPart {
  /** How often these lines come, one after another. */
  readonly times: number;
  readonly lines: readonly string[];
}

const same = (lines: readonly string[], a: number, b: number, length: number): boolean =>
  b + length <= lines.length && lines.slice(a, a + length).every((line, at) => line === lines[b + at]);

/** Rows in the order of the card; a cycle of up to eight that comes again at once is told once. */
export function cardParts(card: readonly RunCardStep[]): readonly CardPart[] {
  const lines = card.map(stepWords);
  const parts: { times: number; lines: string[] }[] = [];
  let at = 0;
  while (at < lines.length) {
    const length = [1, 2, 3, 4, 5, 6, 7, 8].find((cycle) => same(lines, at, at + cycle, cycle));
    if (length === undefined) {
      const last = parts.at(-1);
      if (last?.times === 1) last.lines.push(lines[at] as string);
      else parts.push({ times: 1, lines: [lines[at] as string] });
      at++;
      continue;
    }
    let times = 1;
    while (same(lines, at, at + times * length, length)) times++;
    parts.push({ times, lines: lines.slice(at, at + length) });
    at += times * length;
  }
  return parts;
}
