/**
 * Brings the clock of one more file together with the files before it. Stamps that count from 1970 are
 * one clock. Stamps of a logger's own start are the same clock only where they do not run over the
 * same bus twice: there the later file is a later recording and is placed behind.
 */
import type { Problem } from '../../kit/outcome.ts';
import type { FrameBuilder } from '../builder.ts';
import type { RawEvent } from './clock-repair.ts';
import type { Recorder } from './recorder.ts';

const EPOCH_FROM_US = 1e14;
const SECOND = 1e6;

interface Span {
  readonly firstUs: number;
  readonly lastUs: number;
}

export function joinFiles(
  before: readonly Recorder[],
  file: Recorder,
  builder: FrameBuilder,
  baseSeconds: number,
): { events: RawEvent[]; warnings: Problem[] } {
  const nothing = { events: [], warnings: [] };
  if (before.length === 0) return nothing;
  const span = spanOf(file, builder);
  const spans = before.filter(({ stamped }) => stamped).map((each) => ({ file: each, span: spanOf(each, builder) }));
  if (!span || spans.length === 0) return nothing;
  const isEpoch = (each: Span): boolean => each.firstUs + baseSeconds * SECOND >= EPOCH_FROM_US;
  const whole = union(spans.map((each) => each.span));
  if (!whole) return nothing;
  if (isEpoch(span) !== isEpoch(whole)) {
    shiftFile(file, builder, whole.firstUs - span.firstUs);
    return { events: [], warnings: [CLOCKS_DIFFER] };
  }
  const same = union(spans.filter((each) => sharesStream(each.file, file, builder)).map((each) => each.span));
  if (!same || span.firstUs > same.lastUs || span.lastUs < same.firstUs) return nothing;
  if (isEpoch(span)) return { events: [], warnings: [SAME_MINUTES] };
  const byUs = same.lastUs + SECOND - span.firstUs;
  shiftFile(file, builder, byUs);
  const atUs = same.lastUs + SECOND;
  const words =
    'stamps start anew with this file; it was placed 1 s after the one before (how long the pause was cannot be known)';
  return { events: [{ kind: 'restart', line: 1, atUs, byS: -byUs / SECOND, words }], warnings: [] };
}

const CLOCKS_DIFFER: Problem = {
  code: 'clocks-differ',
  message: 'This file counts time from another start than the files before; it was placed to begin together with them.',
  advice: 'Where that is wrong, read it as a capture of its own.',
};
const SAME_MINUTES: Problem = {
  code: 'same-minutes-twice',
  message: 'This file covers the same minutes of the same bus as a file before; both are kept.',
  advice: 'Where they are two buses, name them apart (BUS=FILE); where it is one recording twice, leave one out.',
};

function spanOf(file: Recorder, builder: FrameBuilder): Span | null {
  let firstUs = Infinity;
  let lastUs = -Infinity;
  for (const slot of builder.allSlots()) {
    const [least, greatest] = slot.span(file.firstArrival, file.endArrival);
    firstUs = Math.min(firstUs, least);
    lastUs = Math.max(lastUs, greatest);
  }
  return firstUs <= lastUs ? { firstUs, lastUs } : null;
}

function union(spans: readonly (Span | null)[]): Span | null {
  const known = spans.filter((span) => span !== null);
  if (known.length === 0) return null;
  return {
    firstUs: Math.min(...known.map(({ firstUs }) => firstUs)),
    lastUs: Math.max(...known.map(({ lastUs }) => lastUs)),
  };
}

function sharesStream(a: Recorder, b: Recorder, builder: FrameBuilder): boolean {
  const has = (file: Recorder, slot: { span(from: number, to: number): readonly [number, number] }): boolean =>
    Number.isFinite(slot.span(file.firstArrival, file.endArrival)[0]);
  return builder.streams.some(({ slot }) => has(a, slot) && has(b, slot));
}

function shiftFile(file: Recorder, builder: FrameBuilder, byUs: number): void {
  for (const slot of builder.allSlots()) slot.shift(file.firstArrival, file.endArrival, byUs);
}
