/**
 * What a person confirmed before, as decisions that bind the finders: signals named in a dossier, and what a map given back says was proven, supported
 * or set by hand. The finders work around them, and where they would have it otherwise that is said.
 */
import type { Placement } from '../frames/bits.ts';
import { isByHand } from '../map/evidence.ts';
import type { MapChecksum, MapCounter, MapSignal, SignalMap } from '../map/schema.ts';
import { samePlace } from './places.ts';
import { isFrame, type Decision, type FrameKey, type NamedSignal } from './types.ts';

const plain = ({ lsb, length, order, continues }: Placement): Placement => ({
  lsb,
  length,
  order,
  ...(continues?.length ? { continues } : {}),
});

/** Decided for all pages; a signal of one page binds nothing on the others. */
function placedBy(frame: FrameKey, signal: MapSignal): Decision[] {
  if (signal.when || signal.kind === 'text' || signal.coding === 'text') return [];
  const { bus, id, extended } = frame;
  return [{ bus, id, extended, kind: 'field', placement: plain(signal as Placement), coding: signal.coding }];
}

/** The decisions, and behind them the signals as placed fields; what was decided about the very bits stands. */
export function withConfirmed(decisions: readonly Decision[], signals: readonly NamedSignal[]): Decision[] {
  const decided = ({ placement, ...frame }: Decision): boolean =>
    decisions.some((one) => isFrame(one, frame) && samePlace(one.placement, placement));
  const placed = signals.flatMap(({ signal, ...frame }) => placedBy(frame, signal));
  return [...decisions, ...placed.filter((one) => !decided(one))];
}

/** A guess that nobody confirmed binds nobody. */
const isConfirmed = (signal: MapSignal): boolean => signal.standing !== 'guess' || isByHand(signal);

function rulesOf({ bus, id, extended, counters, checksums }: SignalMap['frames'][number]): Decision[] {
  const rule = { bus, id, extended, kind: 'rule' as const };
  const placement = (guard: MapCounter | MapChecksum): Placement => plain(guard as Placement);
  return [
    ...counters.filter(isByHand).map((counter) => ({ ...rule, placement: placement(counter), counter })),
    ...checksums.filter(isByHand).map((checksum) => ({ ...rule, placement: placement(checksum), checksum })),
  ];
}

/** What binds of a map that is given back. */
export function decisionsOfMap({ frames }: Pick<SignalMap, 'frames'>): Decision[] {
  const signals = frames.flatMap((frame) => {
    const { bus, id, extended } = frame;
    return frame.signals.filter(isConfirmed).map((signal) => ({ bus, id, extended, signal }));
  });
  return withConfirmed(frames.flatMap(rulesOf), signals);
}
