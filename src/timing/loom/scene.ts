/** The loom drawn: trunks, branches with their ties, strands, and beside each strand its row. The head stays while the rest scrolls. */
import type { Scene } from '../../kit/drawing/surface.ts';
import { groupColor, isHueRepeated, type Palette } from '../../kit/drawing/palette.ts';
import { cutText, inView, LETTER, type Drawing, type LoomContent } from './drawing.ts';
import { HEAD, TRUNK_HEAD, type PlacedBranch, type PlacedBus, type PlacedStrand } from './layout.ts';
import { drawColumnHeads, drawRow } from './rows.ts';
import { drawTag, tagWidth } from './tag.ts';
import { BUNDLE_WIDTH, strandPath, trunkOf, type Trunk } from './trunk.ts';

const TIE_APART = 5;
const TIE_OVER = 6;
/** Above the bend, where the strands still run down. */
const TRUNK_TIE_ABOVE = 44;
/** What stays in place while the rest scrolls, down to the foot of the trunk's head. */
const STAYS = 18;
const DASH = [5, 3.5];
const DOUBT_DASH = [3, 2.5];

export const loomScene =
  (content: LoomContent): Scene =>
  (surface, palette) => {
    const drawing: Drawing = { ...content, surface, palette };
    const { layout, scrollY } = content;
    const shown = layout.buses.filter(({ top, bottom }) => inView(drawing, top, bottom));
    for (const bus of shown) drawBus(drawing, bus, trunkOf(layout, bus, scrollY, scrollY + surface.height));
    drawHeads(drawing);
  };

function drawBus(drawing: Drawing, bus: PlacedBus, trunk: Trunk): void {
  const { scrollY, selected } = drawing;
  const strands = bus.branches.flatMap((branch) => branch.strands);
  if (trunk.folded > 0) drawBundle(drawing, bus, trunk);
  // The one that is held lies on top of its neighbours, so that its casing is whole.
  const isHeld = ({ strand }: PlacedStrand): boolean => strand.key === selected;
  for (const strand of strands.filter((one) => !isHeld(one))) drawStrand(drawing, bus, trunk, strand);
  for (const strand of strands.filter(isHeld)) drawStrand(drawing, bus, trunk, strand);
  for (const branch of bus.branches) {
    if (branch.branch.kind === 'sender') drawTies(drawing, bus, trunk, branch);
    if (!inView(drawing, branch.top - 40, branch.bottom + 20)) continue;
    drawWords(drawing, branch);
    for (const strand of branch.strands) if (inView(drawing, strand.y - 22, strand.y + 22)) drawRow(drawing, strand);
  }
  drawTrunkHead(drawing, bus, trunk, bus.top - scrollY);
}

/** What leaves below the view, as one. */
function drawBundle({ surface, palette, scrollY }: Drawing, bus: PlacedBus, { left }: Trunk): void {
  const top = bus.headBottom - scrollY;
  const bottom = Math.min(surface.height, bus.bottom - scrollY);
  surface.rect(left, top, BUNDLE_WIDTH, bottom - top, { color: palette.threadRest });
  for (const x of [0.5, BUNDLE_WIDTH / 2, BUNDLE_WIDTH - 0.5])
    surface.line(left + x, top, left + x, bottom, { color: palette.ruleKey });
}

const inkOf = (palette: Palette, { branch, strand }: PlacedStrand): string =>
  branch.branch.kind === 'sender' ? groupColor(palette, strand.group) : palette.ink3;

function drawStrand(drawing: Drawing, bus: PlacedBus, trunk: Trunk, placed: PlacedStrand): void {
  const { surface, palette, layout, scrollY, selected, hovered } = drawing;
  const { strand } = placed;
  if (!inView(drawing, Math.min(bus.headBottom, placed.y), Math.max(placed.y, placed.branchY))) return;
  const path = strandPath(layout, bus, trunk, placed);
  const points = path.map((value, index) => (index % 2 ? value - scrollY : value));
  const color = inkOf(palette, placed);
  const isHeld = strand.key === selected;
  if (isHeld || strand.key === hovered) {
    const edge = isHeld ? palette.accent : palette.ink2;
    surface.polyline(points, { color: edge, width: strand.width + (isHeld ? 5 : 4) });
    surface.polyline(points, { color: palette.ground, width: strand.width + 2.2 });
  } else if (isHueRepeated(strand.group))
    surface.polyline(points, { color: palette.ink, width: strand.width + 1.6, dash: [2, 4] });
  surface.polyline(points, { color, width: strand.width, ...(strand.onChange ? { dash: DASH } : {}) });
  drawEnd(drawing, placed, color);
}

/** Dot; ring for a copy; open square where a person put it. */
function drawEnd({ surface, palette, layout, scrollY }: Drawing, { strand, y }: PlacedStrand, color: string): void {
  const x = layout.columns.dotX;
  const at = y - scrollY;
  if (strand.end === 'dot') surface.circle(x, at, Math.min(3.4, 1.3 + strand.width / 2), { fill: { color } });
  else if (strand.end === 'ring')
    surface.circle(x, at, 3, { fill: { color: palette.ground }, stroke: { color, width: 1.4 } });
  else {
    surface.rect(x - 3.5, at - 3.5, 7, 7, { color: palette.ground });
    surface.frame(x - 3.5, at - 3.5, 7, 7, { color: palette.ink, width: 1.4 });
  }
}

/** Left and right edge of a branch's strands in the trunk; null where they are not in it. */
function trunkEdges(trunk: Trunk, branch: PlacedBranch): readonly [number, number] | null {
  const edges = branch.strands.flatMap((placed) => {
    const x = trunk.xOf.get(placed);
    return x === undefined ? [] : [x - placed.strand.width / 2, x + placed.strand.width / 2];
  });
  return edges.length ? [Math.min(...edges), Math.max(...edges)] : null;
}

/** "One sender": two ties across the branch and across its strands in the trunk; one, dashed, where that is in doubt. */
function drawTies(drawing: Drawing, bus: PlacedBus, trunk: Trunk, branch: PlacedBranch): void {
  const { surface, palette, layout, scrollY } = drawing;
  const { doubted, strands } = branch.branch;
  if (strands.length < 2) return;
  const stroke = { color: palette.ink, width: 1.5, ...(doubted ? { dash: DOUBT_DASH } : {}) };
  const apart = doubted ? [0] : [0, TIE_APART];
  const [top, bottom] = [branch.runTop - TIE_OVER - scrollY, branch.runBottom + TIE_OVER - scrollY];
  const x = layout.columns.tieX;
  if (branch.bound) for (const by of apart) surface.line(x + by, top, x + by, bottom, stroke);
  const edges = trunkEdges(trunk, branch);
  const y = branch.runTop - scrollY - (branch.bound ? TRUNK_TIE_ABOVE : layout.pitch);
  if (!edges || y < bus.headBottom - scrollY + 8) return;
  const left = Math.max(edges[0] - 4, trunk.folded > 0 ? trunk.left + BUNDLE_WIDTH + 1 : -Infinity);
  for (const by of apart) surface.line(left, y + by, edges[1] + 4, y + by, stroke);
}

/** Tag, name and skew of a sender; for the others, why they hang loose. */
function drawWords(drawing: Drawing, placed: PlacedBranch): void {
  const { surface, palette, layout, scrollY } = drawing;
  const { columns, narrow, pitch } = layout;
  const { group, title, named, words, kind } = placed.branch;
  const { bound } = placed;
  const y = (narrow ? placed.top + pitch / 2 + 5 : bound ? placed.runTop - 10 : placed.top + 11) - scrollY;
  const x = narrow ? columns.idX - 8 : columns.labelX;
  const right = narrow ? columns.right - 74 : bound ? columns.cubicFrom + 12 : columns.dotX;
  const isSender = kind === 'sender';
  const size = isSender ? 13 : 12;
  const at = group ? x + tagWidth(group) + 7 : x;
  const shown = cutText(title, right - at, size);
  if (group) drawTag(surface, palette, group, x, y - 12);
  surface.text(at, y, shown, {
    color: isSender ? palette.ink : palette.ink2,
    size,
    weight: isSender ? 500 : 400,
    italic: !named || kind === 'unknown',
    halo: palette.ground,
  });
  if (!words) return;
  const below = { color: palette.ink2, size: 11, halo: palette.ground } as const;
  if (narrow) surface.text(columns.right - 2, y, words, { ...below, align: 'end' });
  else if (bound) surface.text(x, placed.runBottom + 16 - scrollY, words, below);
  else surface.text(at + shown.length * size * LETTER * 0.92 + 6, y, words, below);
}

function drawTrunkHead({ surface, palette, layout }: Drawing, { bus }: PlacedBus, trunk: Trunk, top: number): void {
  const [left, right] = [trunk.left - 8, Math.max(trunk.right, trunk.left + 24) + 8];
  const y = top + 3;
  surface.rect(left, y, right - left, TRUNK_HEAD, { color: palette.ground });
  surface.frame(left + 0.5, y + 0.5, right - left - 1, TRUNK_HEAD - 1, { color: palette.ink, width: 1.2 });
  surface.line(left, y + TRUNK_HEAD / 2, right, y + TRUNK_HEAD / 2, { color: palette.ink, width: 0.75 });
  const x = Math.max(right + 10, layout.columns.labelX);
  const words = { color: palette.ink2, size: 12, halo: palette.ground } as const;
  surface.text(x, y + 11, bus.name, { color: palette.ink, size: 13, weight: 600, halo: palette.ground });
  surface.text(x + bus.name.length * 7.4 + 8, y + 11, bus.words, words);
}

/** Column heads, and the trunk that the topmost rows belong to; both stay where they are. */
function drawHeads(drawing: Drawing): void {
  const { surface, palette, layout, scrollY } = drawing;
  if (scrollY > 0.5) {
    surface.rect(0, 0, surface.width, STAYS, { color: palette.ground });
    const current = layout.buses.find((bus) => bus.bottom > scrollY + HEAD);
    if (current) {
      const trunk = trunkOf(layout, current, scrollY, scrollY + surface.height);
      if (current.top <= scrollY) drawTrunkHead(drawing, current, trunk, 0);
    }
  }
  drawColumnHeads(drawing);
}
