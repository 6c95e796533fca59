/**
 * The trunk of a bus and the way of each strand from its head to its row. Strands lie in the order in which they leave, the first
 * outermost right, so that none crosses another. A trunk that would grow too wide keeps what leaves it in view, and the rest as one
 * bundle at its left edge.
 */
import { LOOSE_GAP, STRAND_GAP, type Columns, type LoomLayout, type PlacedBus, type PlacedStrand } from './layout.ts';

export const BUNDLE_WIDTH = 11;
const BEND_LOOSE = 10;
const BEND_MOST = 34;
const BEND_LEAST = 20;
/** Where a strand's middle runs down the trunk; null: within the bundle. */
export interface Trunk {
  readonly xOf: ReadonlyMap<PlacedStrand, number>;
  readonly left: number;
  readonly right: number;
  /** What is in view begins here: who left above it comes from there. */
  readonly fromY: number;
  /** Strands that are folded into the bundle, and how many senders they come from; 0 where there is none. */
  readonly folded: number;
  readonly foldedSenders: number;
}

/** What leaves at once: a bound branch, or one loose strand. */
function leavings(bus: PlacedBus): { readonly strands: readonly PlacedStrand[]; readonly y: number }[] {
  return bus.branches.flatMap((branch) =>
    branch.bound
      ? [{ strands: branch.strands, y: branch.runTop }]
      : branch.strands.map((strand) => ({ strands: [strand], y: strand.y })),
  );
}

/** @param fromY @param toY what is in view, pixels of the whole picture */
export function trunkOf(layout: LoomLayout, bus: PlacedBus, fromY: number, toY: number): Trunk {
  const { columns, narrow } = layout;
  const gapOf = ({ branch }: PlacedStrand): number =>
    branch.branch.kind === 'sender' ? STRAND_GAP : narrow ? STRAND_GAP : LOOSE_GAP;
  const widthOf = (strands: readonly PlacedStrand[]): number =>
    strands.reduce((sum, placedStrand) => sum + placedStrand.strand.width + gapOf(placedStrand), 0);
  const all = leavings(bus);
  const fits = all.reduce((sum, { strands }) => sum + widthOf(strands), 0) <= columns.trunkMost + 0.5;
  const shown: PlacedStrand[] = [];
  let room = columns.trunkMost - BUNDLE_WIDTH - 2;
  let open = true;
  for (const { strands, y } of all) {
    // What has left above the view is not in the trunk any more; the first that finds no room closes it for the rest.
    if (!fits && y < fromY) continue;
    open = open && (fits || (y <= toY && widthOf(strands) <= room));
    if (!open) continue;
    room -= widthOf(strands);
    shown.push(...strands);
  }
  const gone = fits ? 0 : all.filter(({ y }) => y < fromY).flatMap(({ strands }) => strands).length;
  const folded = layout.strands.filter(({ strand }) => strand.stream.bus === bus.bus.name).length - shown.length - gone;
  return { ...positions(columns, shown, gapOf, folded, bus), fromY };
}

function positions(
  columns: Columns,
  shown: readonly PlacedStrand[],
  gapOf: (strand: PlacedStrand) => number,
  folded: number,
  bus: PlacedBus,
): Omit<Trunk, 'fromY'> {
  const xOf = new Map<PlacedStrand, number>();
  const left = columns.trunkX;
  let x = left + (folded > 0 ? BUNDLE_WIDTH + 2 : 0);
  for (const placedStrand of [...shown].reverse()) {
    xOf.set(placedStrand, x + placedStrand.strand.width / 2);
    x += placedStrand.strand.width + gapOf(placedStrand);
  }
  const last = shown[0];
  const right = last ? x - gapOf(last) : left + BUNDLE_WIDTH;
  const seen = new Set(shown.map(({ branch }) => branch));
  const foldedSenders = folded > 0 ? bus.branches.filter((branch) => branch.bound && !seen.has(branch)).length : 0;
  return { xOf, left, right, folded, foldedSenders };
}

const STEPS = 14;

function quadratic(points: number[], from: Point, control: Point, to: Point): void {
  for (let step = 1; step <= STEPS; step++) {
    const t = step / STEPS;
    const [a, b, c] = [(1 - t) ** 2, 2 * t * (1 - t), t * t];
    points.push(a * from[0] + b * control[0] + c * to[0], a * from[1] + b * control[1] + c * to[1]);
  }
}

function levelCubic(points: number[], from: Point, to: Point): void {
  const middle = (from[0] + to[0]) / 2;
  for (let step = 1; step <= 2 * STEPS; step++) {
    const t = step / (2 * STEPS);
    const [a, b, c, d] = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t ** 3];
    points.push(a * from[0] + (b + c) * middle + d * to[0], (a + b) * from[1] + (c + d) * to[1]);
  }
}

type Point = readonly [x: number, y: number];

function bendRadius(placedStrand: PlacedStrand, x: number, trunk: Trunk, headBottom: number): number {
  const { branch, branchY } = placedStrand;
  const outer = branch.bound ? (trunk.xOf.get(branch.strands[0] as PlacedStrand) ?? x) : x;
  const wanted = branch.bound ? Math.min(BEND_MOST, BEND_LEAST + (outer - x) / 4) : BEND_LOOSE;
  return Math.max(2, Math.min(wanted, branchY - headBottom - 2));
}

/** Its way from the head of the trunk to its row, [x, y, x, y, ...]; from the bundle where it is folded there. */
export function strandPath(layout: LoomLayout, bus: PlacedBus, trunk: Trunk, placedStrand: PlacedStrand): number[] {
  const { columns } = layout;
  const { branchY, y, branch } = placedStrand;
  const x = trunk.xOf.get(placedStrand);
  const points: number[] = [];
  if (x === undefined) {
    const isGone = (branch.bound ? branch.runTop : branchY) < trunk.fromY;
    points.push(isGone ? Math.min(trunk.right + BEND_MOST, columns.cubicFrom) : trunk.left + BUNDLE_WIDTH, branchY);
  } else {
    const radius = bendRadius(placedStrand, x, trunk, bus.headBottom);
    points.push(x, bus.headBottom, x, branchY - radius);
    quadratic(points, [x, branchY - radius], [x, branchY], [x + radius, branchY]);
  }
  if (branch.bound) {
    points.push(columns.cubicFrom, branchY);
    levelCubic(points, [columns.cubicFrom, branchY], [columns.cubicTo, y]);
  }
  points.push(columns.dotX, y);
  return points;
}

/** The strand at a point of the whole picture: its row, or within the reach of its line. */
export function strandAt(
  layout: LoomLayout,
  paths: ReadonlyMap<PlacedStrand, readonly number[]>,
  x: number,
  y: number,
): PlacedStrand | null {
  if (x >= layout.columns.cubicTo) {
    const half = layout.pitch / 2;
    return layout.strands.find((placedStrand) => Math.abs(placedStrand.y - y) <= half) ?? null;
  }
  let [best, nearest]: [PlacedStrand | null, number] = [null, GRIP];
  for (const [placedStrand, path] of paths) {
    const away = distanceTo(path, x, y) - placedStrand.strand.width / 2;
    if (away < nearest) [best, nearest] = [placedStrand, away];
  }
  return best;
}
/** Half of the 12 px that a thin strand takes. */
const GRIP = 6;

function distanceTo(path: readonly number[], x: number, y: number): number {
  let least = Infinity;
  for (let i = 0; i + 3 < path.length; i += 2) {
    const [ax, ay, bx, by] = path.slice(i, i + 4) as [number, number, number, number];
    const [dx, dy] = [bx - ax, by - ay];
    const long = dx * dx + dy * dy;
    const t = long > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
    least = Math.min(least, Math.hypot(x - ax - t * dx, y - ay - t * dy));
  }
  return least;
}
