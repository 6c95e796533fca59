/**
 * The report as plain data: sections of blocks. Both printers walk the same document, so that the HTML and the Markdown cannot say
 * different things. Texts are as the map has them: each printer escapes for its own kind of file.
 */
import type { PictureContent } from './pictures/content.ts';

/** A stretch of a sentence: figures, identifiers and payloads are mono; what is inferred stands in italics. */
export interface Run {
  readonly text: string;
  readonly as: 'mono' | 'inferred' | 'strong';
}
export type Words = string | readonly (string | Run)[];

/** Told by shape; the word always stands beside it. */
export type Mark =
  'guess' | 'supported' | 'proven' | 'required' | 'untested' | 'not-required' | 'holds' | 'fails' | 'not-exercised';

export interface Picture {
  readonly title: string;
  /** What it shows, for who does not see it. */
  readonly description: string;
  readonly content: PictureContent;
  /** The same as a table, where no table beside it says as much. */
  readonly behind?: Table;
  /** Printed under it. */
  readonly caption?: string;
}

interface FullCell {
  readonly words: Words;
  readonly mark?: Mark;
  /** Letter of a sender group, shown in a frame of its hue before the words. */
  readonly group?: string;
  readonly picture?: Picture;
  /** Several lines in place of the words: one a sentence. */
  readonly lines?: readonly Words[];
  /** Id of a section of this report. */
  readonly link?: string;
  /** Behind the words, upright. */
  readonly after?: string;
}
export type Cell = Words | FullCell;

interface HeadCell {
  readonly name: string;
  readonly align?: 'right';
  /** Takes what room there is. */
  readonly wide?: boolean;
  readonly picture?: Picture;
}

export interface Table {
  readonly kind: 'table';
  readonly head: readonly (string | HeadCell)[];
  readonly rows: readonly (readonly Cell[])[];
  /** In its place where it has no rows. */
  readonly otherwise?: string;
}

export type Block =
  | { readonly kind: 'words'; readonly words: Words; readonly tone?: 'lead' | 'dim' }
  | { readonly kind: 'list'; readonly items: readonly Words[]; readonly ordered?: boolean }
  | { readonly kind: 'facts'; readonly rows: readonly (readonly [string, Cell])[] }
  | { readonly kind: 'pictures'; readonly pictures: readonly Picture[]; readonly legend?: readonly Picture[] }
  | { readonly kind: 'subhead'; readonly words: Words }
  | Table;

export interface Section {
  /** Unique in the report: letters, digits and dashes. */
  readonly id: string;
  readonly title: Words;
  readonly group?: string;
  readonly blocks: readonly Block[];
  /** One level deeper. */
  readonly sections?: readonly Section[];
}

export interface Report {
  readonly title: string;
  readonly subtitle: string;
  /** As a drawing's title block: what, of what, by whom, when. */
  readonly titleBlock: readonly (readonly [string, string])[];
  /** Read before anything else. */
  readonly cautions: readonly string[];
  readonly sections: readonly Section[];
}

export const mono = (text: string): Run => ({ text, as: 'mono' });
export const inferred = (text: string): Run => ({ text, as: 'inferred' });
export const strong = (text: string): Run => ({ text, as: 'strong' });

export const runsOf = (words: Words): readonly (string | Run)[] => (typeof words === 'string' ? [words] : words);
export const plainOf = (words: Words): string =>
  runsOf(words)
    .map((run) => (typeof run === 'string' ? run : run.text))
    .join('');

const isWords = (cell: Cell): cell is Words => typeof cell === 'string' || Array.isArray(cell);
export const fullCell = (cell: Cell): FullCell => (isWords(cell) ? { words: cell } : cell);

/** Words joined by a separator: lists within a sentence. */
export const joined = (parts: readonly Words[], by: string): Words =>
  parts.flatMap((part, index) => (index > 0 ? [by, ...runsOf(part)] : [...runsOf(part)]));
