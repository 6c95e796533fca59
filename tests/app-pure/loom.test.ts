/** The loom as it is drawn, read from the draw list: no strand crosses another, each is as wide as its rate; what is bound, dashed, folded. */
import { describe, expect, it } from 'vitest';
import { coarseWords, residualCurves, residualWords } from '../../src/app/pictures/drift-curves.ts';
import { driftScene, spreadTags } from '../../src/app/pictures/drift-scene.ts';
import { cutText } from '../../src/timing/loom/drawing.ts';
import {
  layoutLoom,
  PITCH_LEAST,
  PITCH_MOST,
  type LoomLayout,
  type PlacedStrand,
} from '../../src/timing/loom/layout.ts';
import { jitterScale, loomOf, strandWidth, type Loom } from '../../src/timing/loom/model.ts';
import { loomScene } from '../../src/timing/loom/scene.ts';
import { strandAt, strandPath, trunkOf } from '../../src/timing/loom/trunk.ts';
import { recordingSurface, type Drawn } from '../../src/kit/drawing/recording-surface.ts';
import type { Scene, Stroke } from '../../src/kit/drawing/surface.ts';
import { groupColor, groupStyle, isHueRepeated, type Palette } from '../../src/kit/drawing/palette.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { Residual } from '../../src/timing/senders/drift-picture.ts';
import type { Survey, SurveyFrame } from '../../src/timing/types.ts';

const LETTERS = 'ABCDEFGH';
const groups = Object.fromEntries([...LETTERS].map((letter) => [letter, `hue ${letter}`]));
const palette = new Proxy(
  { groups, hatches: [], standing: {} },
  { get: (known, name) => known[name as keyof typeof known] ?? String(name) },
) as unknown as Palette;

function draw(scene: Scene, width: number, height: number): Drawn[] {
  const { surface, drawn } = recordingSurface(width, height);
  scene(surface, palette);
  return drawn;
}
const texts = (drawn: readonly Drawn[]): string[] =>
  drawn.filter(({ what }) => what === 'text').map((call) => call.with[2] as string);

interface Line {
  readonly points: readonly number[];
  readonly stroke: Stroke;
}
/** Strands are the polylines in a hue, or in the ink of what nobody is known to send. */
const strandsIn = (drawn: readonly Drawn[]): Line[] =>
  drawn
    .filter(({ what }) => what === 'polyline')
    .map((call) => ({ points: call.with[0] as number[], stroke: call.with[1] as Stroke }))
    .filter(({ stroke }) => stroke.color.startsWith('hue') || stroke.color === 'ink3');

const PERIODS = [5, 10, 20, 50, 100, 200, 500, 1000] as const;

interface Invented {
  readonly bus: string;
  readonly group: string | null;
  readonly periodMs: number | null;
  readonly part?: Partial<SurveyFrame>;
}
function surveyOf(invented: readonly Invented[], durationS = 100): Survey {
  const frames = invented.map(({ bus, group, periodMs, part }, place): SurveyFrame => {
    return {
      bus,
      id: `0x${(0x100 + 7 * place).toString(16).toUpperCase()}`,
      extended: false,
      direction: 'received',
      count: periodMs === null ? 40 : Math.round((durationS * 1000) / periodMs),
      timing: {
        kind: periodMs === null ? 'on-change' : 'periodic',
        periodMs,
        jitterMs: periodMs === null ? null : 0.02,
      },
      group,
      groupConfidence: group === null ? null : 0.95,
      groupWhy: '',
      copyOf: null,
      ...part,
    } as SurveyFrame;
  });
  const letters = [...new Set(frames.flatMap(({ group }) => group ?? []))].sort();
  return {
    capture: { durationS, startS: 0 },
    buses: [...new Set(invented.map(({ bus }) => bus))].map((name) => ({ name, bitrate: 500_000, load: 0.3 })),
    frames,
    groups: letters.map((group) => ({ group, ids: [], members: [], skewPpm: 3.21, why: '' })),
  } as unknown as Survey;
}
const nameless = { name: '', named: false };
const loomFrom = (invented: readonly Invented[]): Loom => loomOf(surveyOf(invented), () => nameless);

function chance(seed: string, identifiers: number, senders: number): Invented[] {
  const random = createRandom(seed);
  const buses = Array.from({ length: senders }, () => `can${random.below(3)}`);
  return Array.from({ length: identifiers }, () => {
    const sender = random.below(senders + 1);
    const loose = sender === senders;
    return {
      bus: loose ? `can${random.below(3)}` : (buses[sender] as string),
      group: loose ? null : LETTERS.charAt(sender),
      periodMs: random.next() < 0.15 ? null : (PERIODS[random.below(PERIODS.length)] as number),
    };
  });
}

/** Whether b and c lie on different sides of the line through a with this direction, clearly. */
const parts = (ax: number, ay: number, dx: number, dy: number, q: Float64Array): boolean => {
  const side = (x: number, y: number): number => dx * (y - ay) - dy * (x - ax);
  return side(q[0] as number, q[1] as number) * side(q[2] as number, q[3] as number) < -1e-6;
};
function meets(p: Float64Array, q: Float64Array): boolean {
  const [ax, ay, bx, by] = p as unknown as [number, number, number, number];
  const [cx, cy, dx, dy] = q as unknown as [number, number, number, number];
  if (Math.max(ax, bx) < Math.min(cx, dx) || Math.max(cx, dx) < Math.min(ax, bx)) return false;
  if (Math.max(ay, by) < Math.min(cy, dy) || Math.max(cy, dy) < Math.min(ay, by)) return false;
  return parts(ax, ay, bx - ax, by - ay, q) && parts(cx, cy, dx - cx, dy - cy, p);
}
/** Pairs of strands that cross. Proper intersections of their segments; touching ends are none. */
function crossings(lines: readonly Line[]): number {
  const all = lines.map(({ points }) =>
    Array.from({ length: points.length / 2 - 1 }, (_, i) => Float64Array.from(points.slice(2 * i, 2 * i + 4))),
  );
  let found = 0;
  for (let i = 0; i < all.length; i++)
    for (let j = i + 1; j < all.length; j++) if (all[i]?.some((p) => all[j]?.some((q) => meets(p, q)))) found++;
  return found;
}
const drawWhole = (layout: LoomLayout, width: number, height = layout.height, scrollY = 0): Drawn[] =>
  draw(loomScene({ layout, scrollY, selected: null, hovered: null }), width, height);

describe('strands', () => {
  it.each([
    ['a few', 6, 2, 852, false],
    ['a usual vehicle', 41, 6, 852, false],
    ['a dense one', 55, 8, 852, false],
    ['very many', 120, 8, 852, false],
    ['in a narrow window', 55, 8, 640, false],
    ['on a phone', 41, 6, 350, true],
  ] as const)('never cross: %s', (title, identifiers, senders, width, narrow) => {
    const layout = layoutLoom(loomFrom(chance(title, identifiers, senders)), { width, height: 726, narrow });
    const lines = strandsIn(drawWhole(layout, width));
    expect(lines.length).toBe(identifiers);
    expect(crossings(lines)).toBe(0);
  });
  it('would be seen to cross by this test', () => {
    const stroke = { color: 'hue A' };
    expect(
      crossings([
        { points: [0, 0, 10, 10], stroke },
        { points: [0, 10, 10, 0], stroke },
      ]),
    ).toBe(1);
  });
  it.each([7, 23])('never cross while the picture scrolls, folded or not (seed %i)', (seed) => {
    const layout = layoutLoom(loomFrom(chance(`scroll ${seed}`, 120, 8)), { width: 852, height: 600, narrow: false });
    for (let scrollY = 0; scrollY < layout.height - 600; scrollY += 260) {
      const lines = strandsIn(drawWhole(layout, 852, 600, scrollY));
      expect(crossings(lines)).toBe(0);
    }
  });
  it('are 0.7 + 0.46 times the root of the frames a second wide, all along', () => {
    const loom = loomFrom([10, 50, 200, 1000].map((periodMs) => ({ bus: 'can0', group: 'A', periodMs })));
    const lines = strandsIn(drawWhole(layoutLoom(loom, { width: 852, height: 726, narrow: false }), 852));
    const widths = lines.map(({ stroke }) => stroke.width);
    expect(widths).toEqual([100, 20, 5, 1].map((rate) => 0.7 + 0.46 * Math.sqrt(rate)));
    expect(strandWidth(100)).toBeCloseTo(5.3, 10);
  });
  it('leave 0.9 px of ground between those of one sender, in the trunk and in the branch', () => {
    const layout = layoutLoom(loomFrom(PERIODS.map((periodMs) => ({ bus: 'can0', group: 'A', periodMs }))), {
      width: 852,
      height: 726,
      narrow: false,
    });
    const [bus] = layout.buses;
    const trunk = trunkOf(layout, bus as never, 0, layout.height);
    const at = (strand: PlacedStrand): number => trunk.xOf.get(strand) as number;
    for (let i = 1; i < layout.strands.length; i++) {
      const [above, below] = layout.strands.slice(i - 1, i + 1) as [PlacedStrand, PlacedStrand];
      const half = (above.strand.width + below.strand.width) / 2;
      expect(at(above) - at(below) - half).toBeCloseTo(0.9, 9);
      expect(below.branchY - above.branchY - half).toBeCloseTo(0.9, 9);
    }
  });
  it('are dashed without a period, and end in a ring where a gateway copies, in a square where a person put them', () => {
    const network = { kind: 'partial-network', node: 2, why: '' } as const;
    const copyOf = { bus: 'can1', id: '0x100', extended: false, delayMs: 1 };
    const drawn = drawWhole(
      layoutLoom(
        loomFrom([
          { bus: 'can0', group: 'A', periodMs: null },
          { bus: 'can0', group: 'A', periodMs: 10, part: { network } },
          { bus: 'can0', group: null, periodMs: 10, part: { copyOf } },
          { bus: 'can0', group: 'A', periodMs: 20, part: { byHand: { timingGroup: 'B', timingConfidence: 0.9 } } },
        ]),
        { width: 852, height: 726, narrow: false },
      ),
      852,
    );
    expect(strandsIn(drawn).filter(({ stroke }) => stroke.dash).length).toBe(1);
    const rings = drawn.filter(({ what, with: args }) => what === 'circle' && 'stroke' in (args[3] as object));
    expect(rings.length).toBe(1);
    expect(drawn.filter(({ what, with: args }) => what === 'frame' && args[2] === 7).length).toBe(1);
    expect(texts(drawn)).toContain('copied from can1');
    expect(texts(drawn)).toContain('copy of can1 0x100');
    expect(texts(drawn)).toContain('by hand; timing: B');
    expect(texts(drawn)).toContain('on change');
    expect(texts(drawn)).toContain('network, node 2');
  });
});

describe('branches', () => {
  const ties = (confidence: number, narrow = false): Stroke[] => {
    const part = { groupConfidence: confidence };
    const loom = loomFrom(PERIODS.map((periodMs) => ({ bus: 'can0', group: 'A', periodMs, part })));
    const layout = layoutLoom(loom, { width: 852, height: 726, narrow });
    return drawWhole(layout, 852)
      .filter(({ what, with: args }) => what === 'line' && (args[4] as Stroke).width === 1.5)
      .map((call) => call.with[4] as Stroke);
  };
  it('are bound by two ties; by one, dashed, where it is in doubt', () => {
    // In the branch, and once more in the trunk above it.
    expect(ties(0.95)).toEqual([0, 0, 0, 0].map(() => ({ color: 'ink', width: 1.5 })));
    expect(ties(0.7)).toEqual([0, 0].map(() => ({ color: 'ink', width: 1.5, dash: [3, 2.5] })));
    expect(ties(0.7, true)).toEqual([{ color: 'ink', width: 1.5, dash: [3, 2.5] }]);
  });
  it('of one bus go by the rate that they add', () => {
    const loom = loomFrom([
      { bus: 'can0', group: 'A', periodMs: 100 },
      { bus: 'can0', group: 'B', periodMs: 10 },
      { bus: 'can0', group: null, periodMs: 5 },
      { bus: 'can1', group: 'C', periodMs: 1 },
    ]);
    expect(loom.buses.map(({ branches }) => branches.map(({ group, kind }) => group ?? kind))).toEqual([
      ['B', 'A', 'unknown'],
      ['C'],
    ]);
  });
  it('say name and skew; a letter stands for a name that nobody gave', () => {
    const survey = surveyOf([
      { bus: 'can0', group: 'A', periodMs: 10 },
      { bus: 'can0', group: 'B', periodMs: 100 },
    ]);
    const named = {
      ...survey,
      groups: survey.groups.map((one) => (one.group === 'A' ? { ...one, name: 'inverter' } : one)),
    };
    const drawn = drawWhole(
      layoutLoom(
        loomOf(named, () => nameless),
        { width: 852, height: 726, narrow: false },
      ),
      852,
    );
    const style = (words: string): unknown => drawn.find(({ with: args }) => args[2] === words)?.with[3];
    expect(style('inverter')).toMatchObject({ italic: false });
    expect(style('sender B')).toMatchObject({ italic: true });
    expect(texts(drawn).filter((words) => words === '+3.2 ppm').length).toBe(2);
  });
});

describe('room', () => {
  const layoutOf = (identifiers: number, height: number, width = 852): LoomLayout =>
    layoutLoom(loomFrom(chance('room', identifiers, 6)), { width, height, narrow: false });
  it('rows are 15 px where they fit, closer where they must be, never under 12', () => {
    expect(layoutOf(20, 900).pitch).toBe(PITCH_MOST);
    const closer = layoutOf(41, 760);
    expect(closer.pitch).toBeLessThan(PITCH_MOST);
    expect(closer.height).toBeLessThanOrEqual(760);
    expect(layoutOf(120, 726).pitch).toBe(PITCH_LEAST);
    expect(layoutOf(120, 726).height).toBeGreaterThan(726);
  });
  it('no two rows share a line, and words of neighbours do not run into one another', () => {
    const layout = layoutOf(55, 726);
    const heights = layout.strands.map(({ y }) => y);
    for (let i = 1; i < heights.length; i++)
      expect((heights[i] as number) - (heights[i - 1] as number)).toBeGreaterThanOrEqual(layout.pitch);
    const bound = layout.buses.flatMap(({ branches }) => branches.filter((branch) => branch.bound));
    for (let i = 1; i < bound.length; i++)
      expect((bound[i]?.runTop ?? 0) - 22).toBeGreaterThanOrEqual((bound[i - 1]?.runBottom ?? 0) + 4);
  });
  it('a trunk that is too wide folds what leaves below the view, and counts it', () => {
    const invented = Array.from({ length: 120 }, (_, i) => ({
      bus: 'can0',
      group: LETTERS.charAt(Math.floor(i / 15)),
      periodMs: 10,
    }));
    const layout = layoutLoom(loomFrom(invented), { width: 852, height: 500, narrow: false });
    const [bus] = layout.buses as [LoomLayout['buses'][number]];
    const trunk = trunkOf(layout, bus, 0, 500);
    expect(trunk.folded).toBeGreaterThan(60);
    expect(trunk.folded + trunk.xOf.size).toBe(120);
    expect(trunk.right - trunk.left).toBeLessThanOrEqual(layout.columns.trunkMost + 1);
    // At the end only what finds no room beside the first sender in view.
    expect(trunkOf(layout, bus, layout.height - 500, layout.height).folded).toBeLessThanOrEqual(15);
  });
  it('draws only rows that are in view, and keeps the column heads', () => {
    const layout = layoutOf(120, 500);
    const drawn = texts(drawWhole(layout, 852, 500, 700));
    expect(drawn).toContain('identifier');
    expect(drawn.filter((words) => words.startsWith('0x')).length).toBeLessThan(50);
  });
  it('cuts words that do not fit', () => {
    expect(cutText('drive inverter', 200, 13)).toBe('drive inverter');
    expect(cutText('drive inverter', 50, 13)).toBe('drive…');
    expect(cutText('drive', 5, 13)).toBe('');
  });
});

describe('what the pointer is over', () => {
  const layout = layoutLoom(loomFrom(chance('pointer', 41, 6)), { width: 852, height: 726, narrow: false });
  const [bus] = layout.buses as [LoomLayout['buses'][number]];
  const trunk = trunkOf(layout, bus, 0, layout.height);
  const strands = bus.branches.flatMap((branch) => branch.strands);
  const paths = new Map(strands.map((placed) => [placed, strandPath(layout, bus, trunk, placed)]));
  it('is the row, anywhere along it', () => {
    for (const placed of strands) expect(strandAt(layout, paths, 700, placed.y + 5)).toBe(placed);
  });
  it('is the strand whose line is nearest, and none far from all', () => {
    const first = strands[0] as PlacedStrand;
    const x = trunk.xOf.get(first) as number;
    expect(strandAt(layout, paths, x, bus.headBottom + 10)).toBe(first);
    expect(strandAt(layout, paths, 3, 400)).toBeNull();
  });
});

describe('figures', () => {
  it('scale jitter by what is usual: a few loose ones get an arrow', () => {
    expect(jitterScale([0.1, 0.2, 0.21])).toBe(0.25);
    expect(jitterScale([...Array<number>(20).fill(0.1), 30])).toBeCloseTo(0.2, 12);
    expect(jitterScale([])).toBe(1);
  });
  it('hues go by letter and come again after eight', () => {
    expect(groupColor(palette, 'H')).toBe('hue H');
    expect(groupColor(palette, 'I')).toBe('hue A');
    expect(groupStyle('AA', '')).toBe('var(--group-c)');
    expect(['H', 'I', null].map(isHueRepeated)).toEqual([false, true, false]);
    expect(groupColor(palette, null)).toBe('ink2');
  });
});

describe('drift curves', () => {
  const middlesS = Float64Array.from({ length: 32 }, (_, w) => 5 + 10 * w);
  const line = (slope: number): Float64Array => middlesS.map((s) => slope * s);
  it('keep their holes, end in tags that do not lie on each other, and have the cursor in them', () => {
    const holed = line(20).map((value, w) => (w > 9 && w < 14 ? NaN : value));
    const drawn = draw(
      driftScene({
        middlesS,
        curves: [
          { valuesUs: holed, group: 'A', weight: 'fan', tagged: true },
          { valuesUs: line(20.1), group: 'B', weight: 'fan', tagged: true },
          { valuesUs: line(-5), group: 'C', weight: 'fan', tagged: true },
        ],
        lastsS: 320,
        stepUs: 1,
        cursorS: 160,
        axis: 'ahead of C',
      }),
      312,
      178,
    );
    const [first] = strandsIn(drawn) as [Line];
    expect(first.points.filter(Number.isNaN).length).toBe(8);
    const tags = drawn.filter(({ what, with: args }) => what === 'text' && /^[A-C]$/.test(args[2] as string));
    const heights = tags.map((call) => call.with[1] as number).sort((a, b) => a - b);
    for (let i = 1; i < heights.length; i++)
      expect((heights[i] as number) - (heights[i - 1] as number)).toBeGreaterThanOrEqual(16);
    expect(
      drawn.filter(({ what, with: args }) => what === 'line' && (args[4] as Stroke).color === 'accent').length,
    ).toBe(1);
    expect(texts(drawn)).toContain('ms ahead of C');
  });
  it('say what coarse stamps hide', () => {
    expect(coarseWords(1, 100)).toBeNull();
    expect(coarseWords(10_000, 90)).toMatch(/^Stamps step by 10 ms: over this recording, clocks within 111 ppm /);
  });
  it('are not pressed flat by company that reads no clock', () => {
    const wild = middlesS.map((_, w) => (w % 2 ? 30_000 : -30_000));
    const curves = [
      { valuesUs: line(1), group: 'A', weight: 'held', tagged: false },
      { valuesUs: wild, group: 'A', weight: 'thin', tagged: false },
    ] as const;
    const drawn = draw(driftScene({ middlesS, curves, lastsS: 320, cursorS: null, stepUs: 1, axis: '' }), 312, 112);
    const held = strandsIn(drawn).find(({ stroke }) => stroke.width === 2.4);
    const heights = (held?.points ?? []).filter((_, i) => i % 2);
    expect(Math.max(...heights) - Math.min(...heights)).toBeGreaterThan(60);
  });
  it('spread tags within the picture, each as near to its end as it can be', () => {
    const tags = [10, 12, 100].map((at, i) => ({ group: LETTERS.charAt(i), at, x: 0, y: at }));
    expect(spreadTags(tags, 8, 170).map(({ y }) => y)).toEqual([10, 27, 100]);
    expect(spreadTags(tags, 8, 40).map(({ y }) => y)).toEqual([6, 23, 40]);
  });
  it('of one identifier against a group draw it without itself, and say what is seen with its uncertainty', () => {
    const readings = ['0x1', '0x2', '0x3', '0x4'].map((id, i) => ({
      bus: 'can0',
      id,
      extended: false,
      leastUs: middlesS.map((s) => 1000 * i - (i === 3 ? 30 : 0) * s + 3 * Math.sin(7 * s * (i + 1))),
    }));
    const groupOf = ({ id }: { id: string }): string => (id === '0x4' ? 'B' : 'A');
    const own = residualCurves({ middlesS, readings }, groupOf, readings[0] as never, 'A', 1);
    expect(own.curves.map(({ weight }) => weight)).toEqual(['thin', 'thin', 'held']);
    expect(residualWords(own.residual as Residual, '0x001', 'A', true)).toMatch(
      /^Bounded: it keeps within ± \d us of the rest of A for 5 min 10 s, drift .?0\.\d\d ± 0\.\d\d ppm\. One clock\.$/,
    );
    const other = residualCurves({ middlesS, readings }, groupOf, readings[3] as never, 'A', 1);
    expect(residualWords(other.residual as Residual, '0x004', 'A', false)).toMatch(
      /^A ramp: \+(29\.9|30\.0)\d ± 0\.\d\d ppm against A, 9\.3 ms within 5 min 10 s\. Two clocks\.$/,
    );
  });
});
