/** What holding a map against a capture said, as rows: frames with a column a kind of item, each frame's items, counts and moments. Pure. */
import { frameKey, idNumber } from '../../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../../map/schema.ts';
import type { StreamKey } from '../../../frames/table.ts';
import { displayId } from '../../../kit/units.ts';
import type { ProofFrame, ProofItem, ProofReport, ProofVerdict } from '../../../proof/hold/types.ts';

export const VERDICTS: readonly ProofVerdict[] = ['holds', 'fails', 'not-exercised'];

export const VERDICT_WORDS: Readonly<Record<ProofVerdict, string>> = {
  holds: 'holds',
  fails: 'fails',
  'not-exercised': 'not exercised',
};

/** Column heads, in the order in which a frame is looked at; a kind that is not listed gets a column under its own name. */
const KIND_WORDS: Readonly<Record<string, string>> = {
  presence: 'there',
  length: 'length',
  timing: 'timing',
  counter: 'counter',
  checksum: 'check',
  selector: 'page',
  signal: 'signals',
};

export const kindWords = (kind: string): string => KIND_WORDS[kind] ?? kind;

/** As it stands alone in a sentence. */
const ITEM_WORDS: Readonly<Record<string, string>> = {
  presence: 'presence',
  checksum: 'checksum',
  selector: 'selector',
};
export const itemWords = (kind: string): string => ITEM_WORDS[kind] ?? kind;

export interface ItemRow {
  readonly key: string;
  readonly item: ProofItem;
  /** Its kind and, where it has a name of its own, that. */
  readonly title: string;
}

export interface FrameRow {
  readonly key: string;
  readonly frame: ProofFrame;
  readonly shownId: string;
  /** The bus it is held against; null where the capture has none for it. */
  readonly stream: StreamKey | null;
  readonly mapFrame: MapFrame | null;
  /** Of its sender in the map. */
  readonly group: string | null;
  /** Worst of each kind, in the order of the columns; null: the frame has none of it. */
  readonly cells: readonly (ProofVerdict | null)[];
  readonly items: readonly ItemRow[];
}

export interface Counts {
  readonly holds: number;
  readonly fails: number;
  readonly untested: number;
}

export type Filter = 'all' | ProofVerdict;
/** In the order in which one key goes through them; what holds is the rest, and has a button only. */
export const FILTERS: readonly Filter[] = ['all', 'fails', 'not-exercised'];

const worst = (verdicts: readonly ProofVerdict[]): ProofVerdict | null => {
  if (verdicts.length === 0) return null;
  if (verdicts.includes('fails')) return 'fails';
  return verdicts.includes('holds') ? 'holds' : 'not-exercised';
};

/** Kinds of items in the report, the known ones first. */
export function kindsOf({ frames }: Pick<ProofReport, 'frames'>): readonly string[] {
  const seen = new Set<string>(frames.flatMap(({ items }) => items.map(({ item }) => item)));
  const known = Object.keys(KIND_WORDS);
  return [...known.filter((kind) => seen.has(kind)), ...[...seen].filter((kind) => !known.includes(kind))];
}

/** By its name, where it has one that says more than what kind it is. */
export function itemTitle(kind: string, name: string, frameName: string | undefined): string {
  if (kind === 'signal') return name;
  if (!name || name === frameName) return itemWords(kind);
  return name.startsWith(kind) ? name : `${itemWords(kind)} ${name}`;
}

function rowOf(frame: ProofFrame, kinds: readonly string[], report: ProofReport, map: SignalMap): FrameRow {
  const key = frameKey(frame);
  const mapFrame = map.frames.find((one) => frameKey(one) === key) ?? null;
  const bus = report.buses[frame.bus] === undefined ? frame.bus : (report.buses[frame.bus] ?? null);
  const { id, extended } = frame;
  return {
    key,
    frame,
    shownId: displayId(idNumber(id), extended),
    stream: bus === null ? null : { bus, id: idNumber(id), extended, direction: 'received' },
    mapFrame,
    group: mapFrame?.sender?.group ?? null,
    cells: kinds.map((kind) => worst(frame.items.filter(({ item }) => item === kind).map(({ verdict }) => verdict))),
    items: frame.items.map((item, at) => ({
      key: `${key} ${at}`,
      item,
      title: itemTitle(item.item, item.name, frame.name),
    })),
  };
}

export const rowsOf = (report: ProofReport, map: SignalMap): readonly FrameRow[] => {
  const kinds = kindsOf(report);
  return report.frames.map((frame) => rowOf(frame, kinds, report, map));
};

export function countsOf(items: readonly { readonly verdict: ProofVerdict }[]): Counts {
  const count = (verdict: ProofVerdict): number => items.filter((item) => item.verdict === verdict).length;
  return { holds: count('holds'), fails: count('fails'), untested: count('not-exercised') };
}

export const allItems = ({ frames }: Pick<ProofReport, 'frames'>): readonly ProofItem[] =>
  frames.flatMap(({ items }) => items);

/** Frames that have an item of the verdict; of those only such items are listed. */
export function filtered(rows: readonly FrameRow[], filter: Filter): readonly FrameRow[] {
  if (filter === 'all') return rows;
  return rows.flatMap((row) => {
    const items = row.items.filter(({ item }) => item.verdict === filter);
    return items.length > 0 ? [{ ...row, items }] : [];
  });
}

export interface RowGroup {
  /** Null: there is but one bus, and nothing fails. */
  readonly title: string | null;
  readonly rows: readonly FrameRow[];
}

/** Frames in which something fails come first, whatever their bus; the others bus by bus, as the map has them. */
export function groupedRows(rows: readonly FrameRow[]): readonly RowGroup[] {
  const failing = rows.filter(({ frame }) => frame.verdict === 'fails');
  const others = rows.filter(({ frame }) => frame.verdict !== 'fails');
  const buses = [...new Set(rows.map(({ frame }) => frame.bus))];
  const named = buses.length > 1 || failing.length > 0;
  const byBus = [...new Set(others.map(({ frame }) => frame.bus))].map((bus) => ({
    title: named ? bus : null,
    rows: others.filter(({ frame }) => frame.bus === bus),
  }));
  return failing.length > 0 ? [{ title: 'something fails', rows: failing }, ...byBus] : byBus;
}

/** When it failed; an item that holds may have moments too, of the few that did not agree. */
export const failedMoments = ({ items }: FrameRow): readonly number[] =>
  [...new Set(items.filter(({ item }) => item.verdict === 'fails').flatMap(({ item }) => item.moments))].sort(
    (a, b) => a - b,
  );

/** The frame's name where someone gave it one: what is made from bus and identifier says nothing. */
export const givenName = ({ frame }: FrameRow): string | null => {
  const plain = idNumber(frame.id).toString(16).toUpperCase();
  return frame.name.toUpperCase().includes(plain) ? null : frame.name.replaceAll('_', ' ');
};

/** The moment after (or before) an instant, coming round at the ends; null where there are none. */
export function nextMoment(moments: readonly number[], atS: number | null, step: 1 | -1): number | null {
  if (moments.length === 0) return null;
  const sorted = [...moments].sort((a, b) => a - b);
  const near = 1e-4;
  const onward =
    step === 1
      ? sorted.find((moment) => atS === null || moment > atS + near)
      : sorted.findLast((moment) => atS === null || moment < atS - near);
  return onward ?? (step === 1 ? sorted[0] : sorted.at(-1)) ?? null;
}
