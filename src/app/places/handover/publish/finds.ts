/** What was found, in the words of the page. Pure. */
import { listedFind, type ListedFind } from '../../../../handover/publish/list.ts';
import type { Find, NumberKind } from '../../../../handover/publish/types.ts';

export const KIND_WORDS: Readonly<Record<NumberKind, string>> = {
  'vehicle-number': 'vehicle number',
  'serial-number': 'serial or part number',
  typed: 'a number of yours',
  answer: 'a diagnostic answer',
  'named-in-map': 'named so by the map',
  position: 'a position on earth',
};

/** Letters at the end that tell two finds apart, and tell nobody the number. */
const TOLD = 2;
/** Of something shorter nothing is told. */
const TOLD_FROM = 8;

/** "••••••••17": as long as it is, up to a line's worth. */
export function masked(secret: string): string {
  if (secret === '') return 'a value';
  const told = secret.length >= TOLD_FROM ? secret.slice(-TOLD) : '';
  return `${'•'.repeat(Math.min(15, secret.length - told.length))}${told}`;
}

export interface FindRow {
  readonly find: Find;
  readonly listed: ListedFind;
  readonly masked: string;
  /** It will be written over. */
  readonly blanks: boolean;
}

export interface Refused {
  readonly keep: readonly string[];
  readonly also: readonly string[];
}

/** A find is blanked where that is usual, unless it is kept; one that is only offered, where it is asked for. */
export const isBlanked = ({ key, usual }: Find, { keep, also }: Refused): boolean =>
  !keep.includes(key) && (usual || also.includes(key));

export const findRows = (finds: readonly Find[], refused: Refused): readonly FindRow[] =>
  finds.map((find) => ({
    find,
    listed: listedFind(find),
    masked: masked(find.secret),
    blanks: isBlanked(find, refused),
  }));

/** The other way round; keys of finds that are gone go with it. */
export function toggled(find: Find, refused: Refused, finds: readonly Find[]): Refused {
  const known = new Set(finds.map(({ key }) => key));
  const without = (keys: readonly string[]): string[] => keys.filter((key) => key !== find.key && known.has(key));
  const { keep, also } = { keep: without(refused.keep), also: without(refused.also) };
  if (isBlanked(find, refused)) return find.usual ? { keep: [...keep, find.key], also } : { keep, also };
  return find.usual ? { keep, also } : { keep, also: [...also, find.key] };
}

/** Refusals that still speak of something found: a copy stops at a key that it does not know. */
export function stillFound(refused: Refused, finds: readonly Find[]): Refused {
  const known = new Set(finds.map(({ key }) => key));
  const left = (keys: readonly string[]): string[] => keys.filter((key) => known.has(key));
  return { keep: left(refused.keep), also: left(refused.also) };
}
