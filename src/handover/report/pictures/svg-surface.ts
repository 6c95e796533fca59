/**
 * A surface that writes SVG: the scenes of the page and of the report become pictures within one file, in inks that are names of the
 * style sheet, so that the same picture is right on paper and at night. Paths are relative and to a tenth of a pixel: they are most of the file.
 */
import { hatchOf, hatchWithin } from '../../../kit/drawing/hatches.ts';
import { HUES, type Palette } from '../../../kit/drawing/palette.ts';
import type { Fill, Stroke, Surface, TextStyle } from '../../../kit/drawing/surface.ts';
import { invariant } from '../../../kit/outcome.ts';
import { htmlText } from '../markup-text.ts';

/** Inks by their names in the style sheet. */
export const INK_NAMES: Palette = {
  theme: 'paper',
  ground: 'var(--ground)',
  surface: 'var(--surface)',
  rail: 'var(--rail-ground)',
  ink: 'var(--ink)',
  ink2: 'var(--ink-2)',
  ink3: 'var(--ink-3)',
  rule: 'var(--rule)',
  rule2: 'var(--rule-2)',
  ruleKey: 'var(--rule-key)',
  threadRest: 'var(--thread-rest)',
  accent: 'var(--ink)',
  accentWash: 'var(--hatch-wash)',
  onAccent: 'var(--ground)',
  hatchWash: 'var(--hatch-wash)',
  groups: Object.fromEntries(HUES.map((letter) => [letter.toUpperCase(), `var(--group-${letter})`])),
  hatches: [1, 2, 3, 4, 5, 6].map((ink) => `var(--hatch-${ink})`),
  standing: {
    guess: 'var(--standing-guess)',
    supported: 'var(--standing-supported)',
    proven: 'var(--standing-proven)',
  },
};

const tenths = (value: number): number => Math.round(value * 10);
/** ".5", "-3", "12.1": as short as SVG reads it. */
export const short = (inTenths: number): string => String(inTenths / 10).replace(/^(-?)0\./, '$1.');
const figure = (value: number): string => short(tenths(value));
/** Two figures beside each other need a blank only where the second has no sign. */
const beside = (a: string, b: string): string => (b.startsWith('-') ? a + b : `${a} ${b}`);

/** Rounded where it stands, not step by step: errors do not add up. A pair of NaN lifts the pen. */
export function pathOf(points: ArrayLike<number>, closed = false): string {
  let path = '';
  let [atX, atY] = [0, 0];
  let down = false;
  for (let i = 0; i + 1 < points.length; i += 2) {
    const [px, py] = [points[i] as number, points[i + 1] as number];
    if (Number.isNaN(px) || Number.isNaN(py)) {
      down = false;
      continue;
    }
    const [x, y] = [tenths(px), tenths(py)];
    if (!down) path += `M${beside(short(x), short(y))}`;
    else if (x === atX && y !== atY) path += `v${short(y - atY)}`;
    else if (y === atY && x !== atX) path += `h${short(x - atX)}`;
    else if (x !== atX || y !== atY) path += `l${beside(short(x - atX), short(y - atY))}`;
    [atX, atY] = [x, y];
    down = true;
  }
  return closed && path ? `${path}z` : path;
}

const attributes = (all: Readonly<Record<string, string | number | undefined>>): string =>
  Object.entries(all)
    .filter(([, value]) => value !== undefined)
    .map(([name, value]) => ` ${name}="${typeof value === 'number' ? figure(value) : value}"`)
    .join('');

const strokeOf = ({ color, width = 1, dash, alpha }: Stroke): string =>
  attributes({
    stroke: color,
    'stroke-width': width === 1 ? undefined : width,
    'stroke-dasharray': dash?.map(figure).join(' '),
    'stroke-opacity': alpha === undefined ? undefined : String(alpha),
  });
const fillOf = ({ color, alpha }: Fill): string =>
  attributes({ fill: color, 'fill-opacity': alpha === undefined ? undefined : String(alpha) });

/** Looks that come by the thousand are classes of the style sheet: most of a picture's letters would else say how letters look. */
const INK_CLASSES: Readonly<Record<string, string>> = {
  [INK_NAMES.ink]: 'k',
  [INK_NAMES.ink2]: 'k2',
  [INK_NAMES.ink3]: 'k3',
};

function textOf(x: number, y: number, text: string, style: TextStyle): string {
  const { color, size = 12, weight = 400, align, mono, italic, halo } = style;
  const ink = INK_CLASSES[color];
  const classes = [
    ink,
    size === 11 && 's',
    mono && 'mo',
    italic && 'it',
    halo && 'ha',
    align === 'middle' && 'm',
    align === 'end' && 'e',
    weight === 600 && 'b',
  ];
  const look = attributes({
    x,
    y,
    fill: ink ? undefined : color,
    'font-size': size === 11 || size === 12 ? undefined : size,
    'font-weight': weight === 600 || weight === 400 ? undefined : String(weight),
    class: classes.filter(Boolean).join(' ') || undefined,
  });
  return `<text${look}>${htmlText(text)}</text>`;
}

/** @param id of the picture in its file: names of clips begin with it */
export function svgSurface(width: number, height: number, id: string): { surface: Surface; parts: string[] } {
  const parts: string[] = [];
  let clips = 0;
  const surface: Surface = {
    width,
    height,
    line: (x1, y1, x2, y2, stroke) => parts.push(`<path d="${pathOf([x1, y1, x2, y2])}"${strokeOf(stroke)}/>`),
    polyline: (points, stroke) => {
      const path = pathOf(points);
      if (path) parts.push(`<path d="${path}"${strokeOf(stroke)}/>`);
    },
    area: (points, fill) => {
      const path = pathOf(points, true);
      if (path) parts.push(`<path d="${path}"${fillOf(fill)}/>`);
    },
    rect: (x, y, w, h, fill) =>
      parts.push(`<rect${attributes({ x, y, width: Math.max(0, w), height: Math.max(0, h) })}${fillOf(fill)}/>`),
    frame: (x, y, w, h, stroke) =>
      parts.push(`<rect${attributes({ x, y, width: Math.max(0, w), height: Math.max(0, h) })}${strokeOf(stroke)}/>`),
    circle: (cx, cy, r, { fill, stroke }) =>
      parts.push(`<circle${attributes({ cx, cy, r })}${fill ? fillOf(fill) : ''}${stroke ? strokeOf(stroke) : ''}/>`),
    text: (x, y, text, style) => parts.push(textOf(x, y, text, style)),
    hatch: (x, y, w, h, action, alpha) => {
      const hatch = hatchOf(action);
      const color = INK_NAMES.hatches[hatch.ink] ?? INK_NAMES.ink3;
      const stroke = { color, width: hatch.weight, ...(alpha === undefined ? {} : { alpha }) };
      surface.rect(x, y, w, h, { color: INK_NAMES.hatchWash });
      surface.polyline(hatchWithin(hatch, x, y, w, h), stroke);
      surface.polyline([x, y, x, y + h, NaN, NaN, x + w, y, x + w, y + h], { ...stroke, width: 1 });
    },
    missing: (x, y, w, h) => {
      surface.rect(x, y, w, h, { color: INK_NAMES.ground });
      for (let dy = 2; dy < h; dy += 4)
        surface.line(x + 1, y + dy, x + w - 1, y + dy, { color: INK_NAMES.ruleKey, dash: [1, 3] });
    },
    image: () => invariant(false, 'a picture of pixels has no place in the report'),
    clip: (x, y, w, h, draw) => {
      const name = `${id}-${clips++}`;
      parts.push(`<clipPath id="${name}"><rect${attributes({ x, y, width: w, height: h })}/></clipPath>`);
      parts.push(`<g clip-path="url(#${name})">`);
      draw();
      parts.push('</g>');
    },
  };
  return { surface, parts };
}
