/** Draws a stranger's frame whose content takes turns: many cells of one kind, text, pages within a page, groups of pages alike, plain pages. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, whole } from './draw.ts';
import type { Item, Layout } from './layout.ts';
import { fillItems, placed, type Packer } from './packer.ts';
import { QUANTITY_NAMES, type QuantityName } from './quantities.ts';
import { drawSource } from './sources.ts';
import type { Style } from './styles.ts';

export const PAGED = ['cells', 'text', 'nested', 'sets', 'paged values'] as const;
export type PagedKind = (typeof PAGED)[number];

const SHOWN = QUANTITY_NAMES.filter((name) => name !== 'key');
const LETTERS = [...'ABCDEFGHJKLMNPRSTUVWXYZ0123456789'].map((letter) => letter.charCodeAt(0));

interface Selecting {
  readonly width: number;
  /** Of the selector, one a page. */
  readonly values: readonly number[];
}

function drawSelecting(random: Random, kind: PagedKind): Selecting {
  const bits = kind === 'cells' ? 8 : random.pick([2, 3, 4, 8]);
  const width = kind === 'text' ? 8 : bits;
  const most = Math.min(2 ** bits, whole(random, 2, 8));
  const pages = kind === 'cells' ? whole(random, 4, 24) : kind === 'text' ? whole(random, 2, 3) : most;
  const base = kind === 'cells' ? random.pick([0, 1, 16]) : width > 4 ? random.pick([0, 1, 16]) : 0;
  const apart = width === 8 && kind === 'sets' ? random.pick([1, 16]) : 1;
  return { width, values: Array.from({ length: pages }, (_, page) => (base + page * apart) % 2 ** width) };
}

/** A frame while its pages are drawn; each page starts from what is taken on all of them. */
class PageDrawing {
  readonly start: number;
  private readonly taken: Uint8Array;
  constructor(
    readonly random: Random,
    readonly style: Style,
    readonly packer: Packer,
    readonly layout: Layout,
  ) {
    this.start = packer.cursor;
    this.taken = packer.used.slice();
  }

  turnTo(cursor: number): void {
    this.packer.cursor = cursor;
    this.packer.used = this.taken.slice();
  }

  isTaken(byte: number): boolean {
    return this.taken.subarray(byte * 8, byte * 8 + 8).includes(1);
  }

  some(count: number): QuantityName[] {
    return Array.from({ length: count }, () => this.random.pick(SHOWN));
  }

  page(pages: readonly number[], count: number): void {
    this.turnTo(this.start);
    fillItems(this.random, this.style, this.packer, this.some(count), { pages, inner: null }, this.layout.items);
  }
}

/** One character a byte behind the selector, on bytes that hold nothing else. */
function writeText(drawing: PageDrawing, values: readonly number[]): void {
  const { random, layout } = drawing;
  for (const value of values)
    for (let byte = 1; byte < layout.length; byte++) {
      if (drawing.isTaken(byte)) continue;
      const content: Item['content'] = { from: 'text', character: random.pick(LETTERS) };
      layout.items.push({ place: placed(byte, 0, 8, 'little'), content, pages: [value], inner: null });
    }
}

/** Cells of a pack: one width and scale on all pages, each with an error of its own. */
function drawCells(drawing: PageDrawing, values: readonly number[]): void {
  const { random, style, packer, layout } = drawing;
  const width = Math.max(8, Math.min(16, random.pick(style.widths)));
  const perRaw = (250 * random.pick([1, 2])) / 2 ** width;
  const noise = perRaw * random.pick([0, 0.4, 0.8, 2]);
  const drawn = drawSource(random, 'volts', style);
  const one = { ...drawn, width, perRaw, noise, holdMs: 0, band: 0, startFillS: 0 };
  for (const value of values) {
    drawing.turnTo(drawing.start);
    for (let place = packer.add(width, style.align); place; place = packer.add(width, style.align)) {
      const source = { ...one, shift: random.normal() * 2 };
      layout.items.push({ place, content: { from: 'world', source, cell: true }, pages: [value], inner: null });
    }
  }
}

/** Only the first page has pages of its own. False where there is no room for their selector. */
function drawNested(drawing: PageDrawing, values: readonly number[]): boolean {
  const { random, style, packer, layout } = drawing;
  const place = packer.add(4, 4);
  const page = values[0] as number;
  if (!place || !layout.selector) return false;
  const turn = Array.from({ length: whole(random, 2, 4) }, (_, index) => index);
  layout.selector = { ...layout.selector, inner: { place, page, turn } };
  const second = packer.cursor;
  for (const inner of turn) {
    drawing.turnTo(second);
    fillItems(random, style, packer, drawing.some(4), { pages: [page], inner }, layout.items);
  }
  for (const value of values.slice(1)) drawing.page([value], 5);
  return true;
}

export function drawPages(random: Random, style: Style, packer: Packer, layout: Layout, kind: PagedKind): void {
  const { width, values } = drawSelecting(random, kind);
  const place = packer.add(width, style.align === 8 ? 8 : 4);
  if (!place) return;
  const first = values[0] as number;
  const oftenFirst = kind === 'paged values' && chance(random, 0.5);
  const turn = oftenFirst ? values.flatMap((value) => (value === first ? [value] : [first, value])) : values;
  layout.selector = { place, turn, slow: chance(random, 0.2) ? 3 : 1, inner: null };
  if (chance(random, 0.4) && kind !== 'text') {
    const everywhere = random.pick(['speed', 'ready', 'volts', 'mode'] as const);
    fillItems(random, style, packer, [everywhere], { pages: null, inner: null }, layout.items);
  }
  const drawing = new PageDrawing(random, style, packer, layout);
  if (kind === 'text') writeText(drawing, values);
  else if (kind === 'cells') drawCells(drawing, values);
  else if (kind === 'sets') {
    const cut = whole(random, 1, values.length - 1);
    for (const set of [values.slice(0, cut), values.slice(cut)]) drawing.page(set, 5);
  } else if (kind !== 'nested' || !drawNested(drawing, values))
    for (const value of values) drawing.page([value], whole(random, 2, 6));
}
