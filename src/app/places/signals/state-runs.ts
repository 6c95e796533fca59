/** States over time: which raw values are worth a name, the stretches of each, and the strip that shows them. */
import { placementLength } from '../../../frames/bits.ts';
import type { TracePicture } from '../../../jobs/engine-types.ts';
import type { MapSignal } from '../../../map/schema.ts';
import type { Gap } from '../../../timing/types.ts';
import { gapColumns } from '../../pictures/weave-columns.ts';
import { drawColumns, xOf, type ActionColumn } from '../../pictures/weave-scene.ts';
import type { Scene } from '../../../kit/drawing/surface.ts';
import type { StateProposal } from './state-proposals.ts';

const LANES_MOST = 16;

export const hasStates = (signal: MapSignal): boolean =>
  (signal.kind === 'states' || signal.kind === 'flag') && 2 ** placementLength(signal) <= 256;

/** Raw values worth a name: all of a short field, else those named, seen in view, or proposed. */
export function rawValuesOf(signal: MapSignal, seen: readonly number[], proposed: readonly StateProposal[]): number[] {
  const bits = placementLength(signal);
  const all = bits <= 3 ? Array.from({ length: 2 ** bits }, (_, raw) => raw) : [];
  const named = Object.keys(signal.states).map(Number).filter(Number.isFinite);
  return [...new Set([...all, ...named, ...seen, ...proposed.map(({ raw }) => raw)])]
    .sort((a, b) => a - b)
    .slice(0, LANES_MOST);
}

/** Values in view, sixteen and one at most. */
export function distinct(picture: TracePicture | null): number[] {
  if (!picture) return [];
  const seen = new Set<number>();
  for (const values of [picture.last, picture.low, picture.high])
    for (const value of values) {
      if (value === value) seen.add(value);
      if (seen.size > LANES_MOST) return [...seen];
    }
  return [...seen];
}

interface StateQuestion {
  readonly window: { readonly fromS: number; readonly toS: number };
  readonly picture: TracePicture | null;
  readonly gaps: readonly Gap[];
  readonly columns: readonly ActionColumn[];
  readonly raws: readonly number[];
  readonly names: Readonly<Record<string, string>>;
}

const NAMED_LEAST = 60;

/** Blocks in a lane a state, the greatest at the top; an unnamed one is only outlined. */
export function stateScene({ window, picture, gaps, columns, raws, names }: StateQuestion): Scene {
  return (surface, palette) => {
    drawColumns(surface, palette, window, columns);
    if (!picture || raws.length === 0) return;
    const lane = Math.min(14, (surface.height - 4) / raws.length);
    const top = (raw: number): number => surface.height - 2 - (raws.indexOf(raw) + 1) * lane;
    for (const { fromS, toS, raw } of runsOf(picture, gaps)) {
      if (!raws.includes(raw)) continue;
      const [left, right] = [
        Math.max(0, xOf(window, surface.width, fromS)),
        Math.min(surface.width, xOf(window, surface.width, toS)),
      ];
      const width = Math.max(1, right - left);
      const name = names[String(raw)];
      if (name) surface.rect(left, top(raw), width, lane - 1, { color: palette.ink2 });
      else
        surface.frame(left + 0.5, top(raw) + 0.5, Math.max(1, width - 1), lane - 2, {
          color: palette.ink2,
          dash: [2, 2],
        });
      if (width > NAMED_LEAST)
        surface.text(
          left + 6,
          top(raw) + (raws.indexOf(raw) > 1 ? lane + 11 : -4),
          name ? `${raw} = ${name}` : `${raw}`,
          {
            color: palette.ink,
            size: 11,
            halo: palette.ground,
          },
        );
    }
  };
}

/** Stretches of one value; cut in gaps. */
export function runsOf(picture: TracePicture, gaps: readonly Gap[]): { fromS: number; toS: number; raw: number }[] {
  const { fromS, toS, columns } = picture.window;
  const at = (column: number): number => fromS + (column / columns) * (toS - fromS);
  const cut = gapColumns({ window: picture.window, gaps });
  const runs: { fromS: number; toS: number; raw: number }[] = [];
  let raw = Number.NaN;
  let begun = 0;
  const close = (column: number): void => {
    if (raw === raw) runs.push({ fromS: at(begun), toS: at(column), raw });
  };
  for (let column = 0; column < columns; column++) {
    const last = picture.last[column] as number;
    const now = last === last ? last : cut[column] ? Number.NaN : raw;
    if (now === raw || (now !== now && raw !== raw)) continue;
    close(column);
    raw = now;
    begun = column;
  }
  close(columns);
  return runs;
}
