/**
 * Where band labels go: beside their band if there is room, else spread so that none covers another and led back
 * by a thin line. Spreading is the least-squares placement in order (pool adjacent violators: Ayer et al. 1955).
 * Runs of one-line flags fold into one label when all together do not fit.
 */
export interface LabelWish {
  /** Where its top would like to be. */
  readonly top: number;
  readonly height: number;
}

/** Tops in the order given, none overlapping, all within 0..limit where they fit there at all. */
export function spreadLabels(wishes: readonly LabelWish[], limit: number): number[] {
  const starts: number[] = [];
  let below = 0;
  for (const { height } of wishes) {
    starts.push(below);
    below += height;
  }
  const level = pooled(wishes.map(({ top }, index) => top - (starts[index] as number)));
  const highest = Math.max(0, limit - below);
  return level.map((value, index) => Math.min(Math.max(value, 0), highest) + (starts[index] as number));
}

/** Isotonic regression with equal weights: the nearest values that never fall. */
export function pooled(values: readonly number[]): number[] {
  const pools: { sum: number; count: number }[] = [];
  for (const value of values) {
    pools.push({ sum: value, count: 1 });
    for (;;) {
      const last = pools.at(-1);
      const before = pools.at(-2);
      if (!last || !before || before.sum / before.count <= last.sum / last.count) break;
      pools.splice(-2, 2, { sum: before.sum + last.sum, count: before.count + last.count });
    }
  }
  return pools.flatMap(({ sum, count }) => Array<number>(count).fill(sum / count));
}

export const NAME_LINE = 17;
export const REASON_LINE = 15;
const BLOCK_LEAST = 28;
const LINES_MOST = 6;

/** Lines of text that fit a width, by a mean glyph width; a close over-estimate for layout only. */
export const estimateLines = (text: string, width: number, glyphWidth = 5.6): number =>
  Math.max(1, Math.ceil((text.length * glyphWidth) / width));

export interface LabelShape {
  readonly block: boolean;
  readonly height: number;
}

/** A band of 28 px or more carries a block (name line, then the reason); a smaller one a single line. */
export function labelShape(bandHeight: number, reason: string, width: number): LabelShape {
  if (bandHeight < BLOCK_LEAST) return { block: false, height: NAME_LINE };
  const room = Math.max(1, Math.floor((bandHeight - NAME_LINE) / REASON_LINE));
  const lines = Math.min(room, LINES_MOST, estimateLines(reason, width));
  return { block: true, height: NAME_LINE + lines * REASON_LINE };
}

/** Runs of neighbours that may fold; each run of two or more becomes one label. */
export function foldRuns<T>(items: readonly T[], mayFold: (item: T) => boolean): (T | readonly T[])[] {
  const out: (T | readonly T[])[] = [];
  let run: T[] = [];
  const close = (): void => {
    if (run.length > 1) out.push(run);
    else out.push(...run);
    run = [];
  };
  for (const item of items) {
    if (mayFold(item)) run.push(item);
    else {
      close();
      out.push(item);
    }
  }
  close();
  return out;
}
