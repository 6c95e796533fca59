/** Each picture as SVG: its scene on a surface that writes, named and described for who does not see it. */
import type { Scene } from '../../../kit/drawing/surface.ts';
import { layoutLoom } from '../../../timing/loom/layout.ts';
import type { Loom } from '../../../timing/loom/model.ts';
import { loomScene } from '../../../timing/loom/scene.ts';
import type { Picture } from '../document.ts';
import { htmlText } from '../markup-text.ts';
import { bitsSize } from './bits-grid.ts';
import { bitsScene, LEGEND_SIZE, legendScene } from './bits-scene.ts';
import type { PictureContent } from './content.ts';
import { scheduleScene, scheduleSize } from './schedule-scene.ts';
import { sequenceScene, sequenceSize } from './sequence-scene.ts';
import { INK_NAMES, svgSurface } from './svg-surface.ts';
import { axisScene, AXIS_HEIGHT, traceScene, TRACE_HEIGHT, TRACE_WIDTH } from './trace-scene.ts';

export interface Drawing {
  readonly width: number;
  readonly height: number;
  readonly scene: Scene;
}

const LOOM_WIDE = 860;
const LOOM_NARROW = 358;

function loomDrawing(loom: Loom, width: number, narrow: boolean): Drawing {
  const layout = layoutLoom(loom, { width, height: Number.POSITIVE_INFINITY, narrow });
  const scene = loomScene({ layout, scrollY: 0, selected: null, hovered: null });
  return { width, height: Math.ceil(layout.height), scene };
}

export function drawingOf(content: PictureContent): Drawing {
  switch (content.of) {
    case 'loom':
      return loomDrawing(content.loom, LOOM_WIDE, false);
    case 'bits':
      return { ...bitsSize(content.layout), scene: bitsScene(content.layout) };
    case 'bits-legend':
      return { ...LEGEND_SIZE, scene: legendScene(content.kind) };
    case 'trace':
      return { width: TRACE_WIDTH, height: TRACE_HEIGHT, scene: traceScene(content.trace) };
    case 'axis':
      return { width: TRACE_WIDTH, height: AXIS_HEIGHT, scene: axisScene(content.axis) };
    case 'sequence':
      return { ...sequenceSize(content.sequence), scene: sequenceScene(content.sequence) };
    case 'schedule':
      return { ...scheduleSize(content.schedule), scene: scheduleScene(content.schedule) };
  }
}

/** For a phone, where another drawing of the same suits it better. */
const narrowOf = (content: PictureContent): Drawing | null =>
  content.of === 'loom' ? loomDrawing(content.loom, LOOM_NARROW, true) : null;

/** Small pictures come by the thousand: one label says all. Larger ones have a title and a description of their own. */
const LABELLED: ReadonlySet<string> = new Set(['trace', 'bits']);

function namedBy({ title, description, content }: Picture, id: string): string {
  if (title === '') return 'aria-hidden="true">';
  if (LABELLED.has(content.of)) return `role="img" aria-label="${htmlText(`${title}. ${description}`)}">`;
  return `role="img" aria-labelledby="${id}-t ${id}-d"><title id="${id}-t">${htmlText(title)}</title><desc id="${id}-d">${htmlText(description)}</desc>`;
}

function svgOf({ width, height, scene }: Drawing, picture: Picture, id: string, look: string): string {
  const { surface, parts } = svgSurface(width, height, id);
  scene(surface, INK_NAMES);
  // How wide a trace is, its table says.
  const own = picture.content.of === 'trace' ? '' : `width="${width}" height="${height}" `;
  const size = `${own}viewBox="0 0 ${width} ${height}"`;
  return `<svg class="${look}" ${size} ${namedBy(picture, id)}${parts.join('')}</svg>`;
}

/** @param id unique in the file: letters, digits, dashes */
export function pictureSvg(picture: Picture, id: string): string {
  const narrow = narrowOf(picture.content);
  const wide = svgOf(
    drawingOf(picture.content),
    picture,
    id,
    narrow ? `${picture.content.of} wider` : picture.content.of,
  );
  return narrow ? wide + svgOf(narrow, picture, `${id}n`, `${picture.content.of} narrower`) : wide;
}
