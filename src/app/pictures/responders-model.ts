/**
 * Who answers an action: rows of the responders list in the order of the report (who answers most directly comes
 * first), with effect, lag and q said the way a person reads them, and the words for having too little to say. Also the polylines of repetitions laid over each other.
 */
import { line } from 'd3-shape';
import { isOnlyThen, movesWords } from '../../actions/moves-words.ts';
import type { ActionLinks, Link } from '../../actions/types.ts';
import type { RepetitionsPicture } from '../../jobs/engine-types.ts';
import { displayId } from '../../kit/units.ts';
import { placeWords } from '../../fields/place-words.ts';
import { placementKey } from './bands-words.ts';

const Q_LIMIT = 0.05;

export interface ResponderRow {
  readonly key: string;
  readonly link: Link;
  readonly id: string;
  /** Where the answers are on several buses, which one; else ''. */
  readonly bus: string;
  readonly name: string;
  readonly named: boolean;
  /** In standard deviations; "only then" where it rests but for this action. */
  readonly effect: string;
  /** "16 of 16, never otherwise", and its beginning; empty where that was not counted. */
  readonly moves: string;
  readonly seen: string;
  readonly lag: string;
  readonly q: string;
  readonly direction: string;
  /** "rather “brake pressed”": it answers that too, also where that came alone; empty where nothing speaks for another. */
  readonly rather: string;
}

const DIRECTION_WORDS = { onset: 'at the start', release: 'at the end', level: 'throughout' } as const;

/** "<.001", ".004", ".05", "0.31". */
export function shareWords(value: number): string {
  if (value < 0.001) return '<.001';
  if (value < 0.1) return value.toFixed(3).replace(/^0/, '');
  return value.toFixed(2).replace(/^0/, '');
}

/** "31 sd", "4.2 sd", "−7 sd"; beyond 99 the figure says no more. */
export function effectWords(effectSd: number): string {
  const size = Math.abs(effectSd);
  const text = size >= 99.5 ? '>99' : size >= 10 ? String(Math.round(size)) : size.toFixed(1);
  return `${effectSd < 0 ? '−' : ''}${text} sd`;
}

/** "+0.09", "0.00", "−0.12": seconds after the mark. */
export function lagWords(lagS: number): string {
  const text = Math.abs(lagS).toFixed(2);
  if (/^0\.00$/.test(text)) return text;
  return `${lagS < 0 ? '−' : '+'}${text}`;
}

export type NameOf = (link: Link) => string | null;

export function respondersOf(action: ActionLinks, nameOf: NameOf, limit = Q_LIMIT): ResponderRow[] {
  const first = new Map<string, Link>();
  for (const link of action.links) {
    if (link.q <= limit && !first.has(linkKey(link))) first.set(linkKey(link), link);
  }
  const links = [...first.values()];
  const hasBuses = new Set(links.map(({ bus }) => bus)).size > 1;
  return links.map((link) => rowOf(link, nameOf(link), hasBuses));
}

/** The first of every list, then the second of every list, and so on: no action waits for the others. */
export function inTurns<T>(lists: readonly (readonly T[])[]): T[] {
  const longest = Math.max(0, ...lists.map(({ length }) => length));
  return Array.from({ length: longest }, (_, turn) => lists.flatMap((list) => list.slice(turn, turn + 1))).flat();
}

export const linkKey = (link: Link): string =>
  `${link.bus} ${link.id}${link.extended ? 'x' : ''} ${placementKey(link, link.when)}`;

function rowOf(link: Link, name: string | null, hasBuses: boolean): ResponderRow {
  const { moves } = link;
  return {
    key: linkKey(link),
    link,
    id: displayId(Number.parseInt(link.id, 16), link.extended),
    bus: hasBuses ? link.bus : '',
    name: name ?? placeWords(link),
    named: name !== null,
    effect: moves && isOnlyThen(moves) ? 'only then' : effectWords(link.effectSd),
    moves: moves ? movesWords(moves) : '',
    seen: moves ? `${moves.at} of ${moves.of}` : '',
    lag: lagWords(link.lagS),
    q: shareWords(link.q),
    direction: DIRECTION_WORDS[link.direction],
    rather: ratherWords(link.rather ?? []),
  };
}

const ratherWords = (actions: readonly string[]): string =>
  actions.length > 0 ? `rather ${actions.map((action) => `“${action}”`).join(' or ')}` : '';

/** The sentence where nothing may be claimed. */
export function nobodyWords(action: ActionLinks): string {
  if (action.words) return action.words;
  if (action.links.length === 0) return 'Nothing was tested: no field moves near these marks.';
  const least = Math.min(...action.links.map(({ q }) => q));
  return `Nobody answers more than chance would: the best of ${action.tested.toLocaleString('en')} tests has q ${shareWords(least)}.`;
}

export interface Polyline {
  readonly x: readonly number[];
  readonly y: readonly number[];
}

/** One polyline a repetition (cut where values are missing), scaled together into a box. */
export function overlayOf(picture: RepetitionsPicture, width: number, height: number): Polyline[] {
  const [least, greatest] = extent(picture.values);
  const span = greatest - least || 1;
  const lines: Polyline[] = [];
  for (let row = 0; row < picture.rows; row++) {
    let x: number[] = [];
    let y: number[] = [];
    for (let column = 0; column < picture.columns; column++) {
      const value = picture.values[row * picture.columns + column] as number;
      if (value !== value) {
        if (x.length > 1) lines.push({ x, y });
        x = [];
        y = [];
        continue;
      }
      x.push(((column + 0.5) / picture.columns) * width);
      y.push(height - 1 - ((value - least) / span) * (height - 2));
    }
    if (x.length > 1) lines.push({ x, y });
  }
  return lines;
}

function extent(values: Float32Array): [number, number] {
  let least = Infinity;
  let greatest = -Infinity;
  for (const value of values) {
    if (value < least) least = value;
    if (value > greatest) greatest = value;
  }
  return least <= greatest ? [least, greatest] : [0, 1];
}

const trail = line<number>().digits(1);

export const pathOf = ({ x, y }: Polyline): string =>
  trail.x((at) => x[at] as number).y((at) => y[at] as number)(x.map((_, at) => at)) ?? '';
