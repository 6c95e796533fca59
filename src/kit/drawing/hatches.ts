/** One hatch an action: angle, pitch and weight tell actions apart in a greyscale print; the ink only supports them. */
export interface Hatch {
  /** Degrees; 0 is upright lines, 90 level ones. */
  readonly angle: number;
  /** CSS pixels between lines. */
  readonly pitch: number;
  readonly weight: number;
  /** Index into the palette's six hatch inks. */
  readonly ink: number;
}

const CONSTRUCTIONS: readonly (readonly [number, number, number])[] = [
  [45, 7, 1],
  [-45, 7, 1],
  [90, 5, 1],
  [0, 5, 1],
  [45, 11, 2.4],
  [-45, 11, 2.4],
  [90, 9, 2.4],
  [0, 9, 2.2],
  [45, 4, 0.8],
  [-45, 4, 0.8],
  [90, 3, 0.8],
  [0, 3, 0.8],
];

export function hatchOf(action: number): Hatch {
  const [angle, pitch, weight] = CONSTRUCTIONS[Math.max(0, action) % CONSTRUCTIONS.length] as readonly [
    number,
    number,
    number,
  ];
  return { angle, pitch, weight, ink: Math.max(0, action) % 6 };
}

/** Lines of a hatch over a rectangle, as [x1, y1, x2, y2, ...]; anchored to the sheet, so that neighbours join. */
export function hatchLines(hatch: Hatch, x: number, y: number, width: number, height: number): number[] {
  const lines: number[] = [];
  const radians = (hatch.angle * Math.PI) / 180;
  // Along the line, and across it.
  const along = { x: Math.sin(radians), y: -Math.cos(radians) };
  const across = { x: Math.cos(radians), y: Math.sin(radians) };
  const corners = [
    [x, y],
    [x + width, y],
    [x, y + height],
    [x + width, y + height],
  ].map(([cx, cy]) => (cx as number) * across.x + (cy as number) * across.y);
  const reach = width + height;
  const first = Math.ceil(Math.min(...corners) / hatch.pitch) * hatch.pitch;
  const middle = (x + width / 2) * along.x + (y + height / 2) * along.y;
  for (let d = first; d <= Math.max(...corners); d += hatch.pitch) {
    const px = d * across.x + middle * along.x;
    const py = d * across.y + middle * along.y;
    lines.push(px - along.x * reach, py - along.y * reach, px + along.x * reach, py + along.y * reach);
  }
  return lines;
}

/** The same lines cut at the rectangle, as a polyline that lifts its pen (NaN) between them: for surfaces that cannot clip cheaply. */
export function hatchWithin(hatch: Hatch, x: number, y: number, width: number, height: number): number[] {
  const all = hatchLines(hatch, x, y, width, height);
  const points: number[] = [];
  for (let i = 0; i < all.length; i += 4) {
    const [x1, y1, x2, y2] = all.slice(i, i + 4) as [number, number, number, number];
    const [dx, dy] = [x2 - x1, y2 - y1];
    const [fromX, toX] = insideOf(x1, dx, x, x + width);
    const [fromY, toY] = insideOf(y1, dy, y, y + height);
    const [from, to] = [Math.max(0, fromX, fromY), Math.min(1, toX, toY)];
    if (from < to) points.push(x1 + from * dx, y1 + from * dy, x1 + to * dx, y1 + to * dy, Number.NaN, Number.NaN);
  }
  return points;
}

/** Which part of a line, 0 to 1 along it, lies between two bounds of one axis. */
function insideOf(start: number, step: number, low: number, high: number): readonly [number, number] {
  if (Math.abs(step) < 1e-9) return start >= low && start <= high ? [0, 1] : [1, 0];
  const [a, b] = [(low - start) / step, (high - start) / step];
  return a < b ? [a, b] : [b, a];
}
