/** The spans of the band: which are in view, which one is meant by a key, and their words. Pure. */
import type { ModeSpan } from '../../timing/types.ts';
import { clock, duration } from '../../kit/sheet-figures.ts';

export interface Window {
  readonly fromS: number;
  readonly toS: number;
}

/** Each mode once, in the order in which they come. */
export const modesIn = (spans: readonly ModeSpan[]): string[] => [...new Set(spans.map(({ mode }) => mode))];

const overlapS = (span: Window, window: Window): number =>
  Math.min(span.toS, window.toS) - Math.max(span.fromS, window.fromS);

/** Places of spans of which something is in view. */
export const inView = (spans: readonly ModeSpan[], window: Window): number[] =>
  spans.flatMap((span, place) => (overlapS(span, window) > 0 ? [place] : []));

/** "driving, 0:41.2 to 1:20.0, 39 s" */
export const spanWords = ({ mode, fromS, toS }: ModeSpan): string =>
  `${mode}, ${clock(fromS, 1)} to ${clock(toS, 1)}, ${duration(toS - fromS)}`;

/**
 * Where a key leads from the span that is held, null where it leads nowhere. Without one, an arrow takes the first or last of those in view.
 */
export function stepTo(key: string, held: number | null, spans: readonly ModeSpan[], window: Window): number | null {
  const last = spans.length - 1;
  const seen = inView(spans, window);
  const [first, final] = [seen[0] ?? 0, seen.at(-1) ?? last];
  if (key === 'Home') return 0;
  if (key === 'End') return last;
  if (key === 'ArrowRight') return held === null ? first : Math.min(last, held + 1);
  if (key === 'ArrowLeft') return held === null ? final : Math.max(0, held - 1);
  return null;
}

/** Room on both sides of a span that the view goes to, as a share of it: where it begins and ends must be seen. */
const ROOM = 0.04;

export const viewOf = ({ fromS, toS }: ModeSpan): Window => {
  const roomS = ROOM * (toS - fromS);
  return { fromS: fromS - roomS, toS: toS + roomS };
};
