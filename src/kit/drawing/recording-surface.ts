/** A surface that writes down what is drawn on it, for tests: one entry a call, in order. */
import type { Surface } from './surface.ts';

export interface Drawn {
  readonly what: Exclude<keyof Surface, 'width' | 'height'>;
  readonly with: readonly unknown[];
}

export function recordingSurface(width: number, height: number): { surface: Surface; drawn: Drawn[] } {
  const drawn: Drawn[] = [];
  const note =
    (what: Drawn['what']) =>
    (...args: unknown[]): void => {
      drawn.push({ what, with: args });
    };
  const surface: Surface = {
    width,
    height,
    line: note('line'),
    polyline: note('polyline'),
    area: note('area'),
    rect: note('rect'),
    frame: note('frame'),
    circle: note('circle'),
    text: note('text'),
    hatch: note('hatch'),
    missing: note('missing'),
    image: note('image'),
    clip: (x, y, w, h, draw) => {
      drawn.push({ what: 'clip', with: [x, y, w, h] });
      draw();
    },
  };
  return { surface, drawn };
}
