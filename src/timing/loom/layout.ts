/**
 * Where the rows and branches of the loom stand, in CSS pixels of the whole picture however far it scrolls: rows at one pitch, each
 * sender's strands together beside the middle of its rows, with room for its words.
 */
import type { Branch, Loom, LoomBus, Strand } from './model.ts';

export interface LoomMeasures {
  readonly width: number;
  /** Height in view; more rows lower the pitch, then scroll. */
  readonly height: number;
  /** A phone: rows for thumbs, in two lines. */
  readonly narrow: boolean;
}

export const PITCH_MOST = 15;
export const PITCH_LEAST = 12;
export const PITCH_NARROW = 44;
/** Ground between strands of one sender, and between strands that nothing binds. */
export const STRAND_GAP = 0.9;
export const LOOSE_GAP = 3.2;
/** Column heads, and the head of the trunk that is in view. */
export const HEAD = 30;
const TRUNK_TOP = 3;
export const TRUNK_HEAD = 14;
/** Ground between senders and between buses; closer before anything has to scroll. */
interface Gaps {
  readonly branch: number;
  readonly bus: number;
  /** Heading of strands that nothing binds. */
  readonly loose: number;
}
const USUAL: Gaps = { branch: 13, bus: 14, loose: 18 };
const CLOSE: Gaps = { branch: 8, bus: 6, loose: 15 };
const NARROW: Gaps = { branch: 4, bus: 14, loose: PITCH_NARROW };
const LABEL_ABOVE = 20;
const LABEL_BELOW = 16;
const TRUNK_LEFT = 30;
const TRUNK_LEFT_NARROW = 12;
/** Words of a branch want so much between trunk and ties. */
const LABEL_ROOM = 118;

export interface Columns {
  readonly trunkX: number;
  /** Widest that a trunk may grow. */
  readonly trunkMost: number;
  readonly labelX: number;
  readonly tieX: number;
  readonly cubicFrom: number;
  readonly cubicTo: number;
  readonly dotX: number;
  readonly idX: number;
  readonly nameX: number;
  readonly periodX: number;
  readonly jitterX: number;
  readonly jitterWidth: number;
  readonly right: number;
}

export interface PlacedStrand {
  readonly strand: Strand;
  readonly branch: PlacedBranch;
  /** Middle of its row. */
  readonly y: number;
  /** Where it runs in the branch: its row's own height where it hangs loose. */
  readonly branchY: number;
}

export interface PlacedBranch {
  readonly branch: Branch;
  /** Bound: its strands run together before they part for their rows. */
  readonly bound: boolean;
  readonly top: number;
  readonly bottom: number;
  /** Edges of what runs together. */
  readonly runTop: number;
  readonly runBottom: number;
  readonly strands: readonly PlacedStrand[];
}

export interface PlacedBus {
  readonly bus: LoomBus;
  readonly top: number;
  readonly bottom: number;
  readonly headBottom: number;
  readonly branches: readonly PlacedBranch[];
}

export interface LoomLayout {
  readonly columns: Columns;
  readonly pitch: number;
  readonly narrow: boolean;
  readonly height: number;
  readonly buses: readonly PlacedBus[];
  /** All of them, top to bottom. */
  readonly strands: readonly PlacedStrand[];
  readonly jitterMs: number;
}

const thickness = (strands: readonly Strand[]): number =>
  strands.reduce((sum, { width }) => sum + width, 0) + STRAND_GAP * Math.max(0, strands.length - 1);

/** Width of a trunk with all of these in it. */
function trunkWidth(branches: readonly Branch[]): number {
  return branches.reduce((sum, branch) => {
    const gap = branch.kind === 'sender' ? STRAND_GAP : LOOSE_GAP;
    return sum + branch.strands.reduce((width, strand) => width + strand.width + gap, 0);
  }, 0);
}

function narrowColumns(width: number, widest: number): Columns {
  const trunkMost = Math.min(78, widest);
  const dotX = TRUNK_LEFT_NARROW + trunkMost + 30;
  const jitterWidth = 56;
  return {
    trunkX: TRUNK_LEFT_NARROW,
    trunkMost,
    labelX: dotX - 2,
    tieX: dotX,
    cubicFrom: dotX,
    cubicTo: dotX,
    dotX,
    idX: dotX + 10,
    nameX: dotX + 10,
    periodX: width - 2,
    jitterX: width - 2 - jitterWidth,
    jitterWidth,
    right: width - 2,
  };
}

function wideColumns(width: number, widest: number): Columns {
  const table = Math.min(560, Math.max(316, 0.45 * width));
  const dotX = width - table - 10;
  const cubicTo = dotX - 22;
  const cubicFrom = cubicTo - Math.min(90, 0.22 * dotX);
  const tieX = cubicFrom - 14;
  const jitterWidth = table < 360 ? 64 : 92;
  const jitterX = width - 14 - jitterWidth;
  const trunkMost = Math.max(60, Math.min(widest, tieX - TRUNK_LEFT - 22 - LABEL_ROOM));
  return {
    trunkX: TRUNK_LEFT,
    trunkMost,
    labelX: TRUNK_LEFT + trunkMost + 26,
    tieX,
    cubicFrom,
    cubicTo,
    dotX,
    idX: dotX + 10,
    nameX: dotX + 100,
    periodX: jitterX - 20,
    jitterX,
    jitterWidth,
    right: width - 6,
  };
}

interface Pen {
  y: number;
}

/** Rows of one branch from the pen on; what is bound gets room for its words beside it. */
function placeBranch(branch: Branch, pitch: number, gaps: Gaps, pen: Pen): PlacedBranch {
  const bound = branch.kind === 'sender' && gaps !== NARROW;
  const top = pen.y;
  const run = thickness(branch.strands);
  const rows = branch.strands.length * pitch;
  const room = bound ? Math.max(rows, run + LABEL_ABOVE + LABEL_BELOW - 4) : rows;
  const label = bound ? 0 : gaps.loose;
  const first = top + label + (room - rows) / 2 + pitch / 2;
  const bottom = top + label + room;
  const runTop = bound ? top + room / 2 - run / 2 : first;
  const placed = { branch, bound, top, bottom, runTop, runBottom: bound ? runTop + run : bottom };
  const strands: PlacedStrand[] = [];
  const all: PlacedBranch = { ...placed, strands };
  let at = runTop;
  branch.strands.forEach((strand, row) => {
    const y = first + row * pitch;
    strands.push({ strand, branch: all, y, branchY: bound ? at + strand.width / 2 : y });
    at += strand.width + STRAND_GAP;
  });
  pen.y = bottom + gaps.branch;
  return all;
}

function placeBus(bus: LoomBus, pitch: number, gaps: Gaps, pen: Pen): PlacedBus {
  const top = pen.y;
  pen.y = top + HEAD;
  const branches = bus.branches.map((branch) => placeBranch(branch, pitch, gaps, pen));
  const bottom = branches[branches.length - 1]?.bottom ?? top + HEAD;
  pen.y = bottom + gaps.bus;
  return { bus, top, bottom, headBottom: top + TRUNK_TOP + TRUNK_HEAD, branches };
}

interface Placed {
  readonly buses: PlacedBus[];
  readonly pitch: number;
  readonly height: number;
}

function placeAll(loom: Loom, pitch: number, gaps: Gaps): Placed {
  const pen: Pen = { y: 0 };
  const buses = loom.buses.map((bus) => placeBus(bus, pitch, gaps, pen));
  return { buses, pitch, height: pen.y - gaps.bus + 6 };
}

/** The widest rows with which all is in view; the closest where it has to scroll all the same. */
function placeWithin(loom: Loom, { height, narrow }: LoomMeasures): Placed {
  if (narrow) return placeAll(loom, PITCH_NARROW, NARROW);
  for (let pitch = PITCH_MOST; pitch >= PITCH_LEAST; pitch -= 0.5) {
    for (const gaps of pitch > PITCH_LEAST + 1 ? [USUAL] : [USUAL, CLOSE]) {
      const all = placeAll(loom, pitch, gaps);
      if (all.height <= height) return all;
    }
  }
  return placeAll(loom, PITCH_LEAST, USUAL);
}

export function layoutLoom(loom: Loom, measures: LoomMeasures): LoomLayout {
  const { width, narrow } = measures;
  const { buses, pitch, height } = placeWithin(loom, measures);
  const widest = Math.max(...loom.buses.map(({ branches }) => trunkWidth(branches)), 20);
  return {
    columns: narrow ? narrowColumns(width, widest) : wideColumns(width, widest),
    pitch,
    narrow,
    height,
    buses,
    strands: buses.flatMap(({ branches }) => branches.flatMap(({ strands }) => strands)),
    jitterMs: loom.jitterMs,
  };
}
