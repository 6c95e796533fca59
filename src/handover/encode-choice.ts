/**
 * What may be sent, and what stays out and why. Signals that move the machine (torque, contactors, commands, enables) stay
 * out of the encoder unless a person released them by name; frames that cannot be produced stay out altogether.
 */
import { placementLength } from '../frames/bits.ts';
import { checksumOrder } from '../map/checksum-order.ts';
import { compileChecksum } from '../map/checksum.ts';
import { doubtOf } from '../map/doubt.ts';
import { isKeyed } from '../map/keyed-tags.ts';
import { knownCodedRange, namedStates, type RangeChoice } from '../map/limits.ts';
import { parsePayload } from '../map/raw-values.ts';
import { tableDirection } from '../map/scaling.ts';
import type { MapFrame, MapSignal, SignalMap } from '../map/schema.ts';
import { mayCommand } from './may-command.ts';

export { mayCommand } from './may-command.ts';

export interface LeftOut {
  /** "frame" or "frame.signal". */
  readonly name: string;
  readonly why: string;
}

/** Signals of the map that answer to "frame.signal": a name may be given twice. */
export const answeringTo = ({ frames }: Pick<SignalMap, 'frames'>, name: string): (readonly [MapFrame, MapSignal])[] =>
  frames.flatMap((frame) =>
    frame.signals.filter((signal) => `${frame.name}.${signal.name}` === name).map((signal) => [frame, signal] as const),
  );

/** Of names that were released those that mean one signal of the map: a name of several releases none of them. */
export const meantAlone = (map: Pick<SignalMap, 'frames'>, release: readonly string[]): string[] =>
  release.filter((name) => answeringTo(map, name).length === 1);

/** Of counters, checksums and selectors: a frame whose guard is wrong is ignored at best. */
function doubtedGuard({ counters, checksums, selectors }: MapFrame): string | null {
  const kinds = { counter: counters, checksum: checksums, selector: selectors };
  const doubts = Object.entries(kinds).flatMap(([kind, all]) =>
    all.flatMap((each) => {
      const doubt = doubtOf(each);
      return doubt === null ? [] : [`its ${kind} ${doubt}`];
    }),
  );
  return doubts[0] ?? null;
}

/** Why a frame cannot be sent at all; null where it can. */
export function whyNotSent(frame: MapFrame): string | null {
  // First what no further recording mends.
  if (isKeyed(frame)) return 'its tag depends on a secret and cannot be produced: keep the module that sends it';
  const rest = frame.rest && parsePayload(frame.rest.payload);
  if (!rest || rest.length !== frame.length) return 'no payload recorded at rest to lay signals over';
  if (frame.checksums.some(({ method }) => method === 'unsolved')) return 'the rule of its checksum is not known';
  if (checksumOrder(frame.checksums) === null) return 'its checksums cover each other';
  const broken = frame.checksums.some((checksum) => compileChecksum(checksum, frame) === null);
  return broken ? 'the rule of its checksum is not complete' : doubtedGuard(frame);
}

const isPlainText = (signal: MapSignal): boolean => signal.coding === 'text';

/** Why a signal of a frame that is sent keeps its bits of the rest payload; null where it can be set. */
export function whyNotSet(
  frame: MapFrame,
  signal: MapSignal,
  released: ReadonlySet<string>,
  ranges: RangeChoice = 'observed',
): string | null {
  if (mayCommand(signal) && !released.has(`${frame.name}.${signal.name}`)) {
    return 'may move the machine or switch its battery: release it by name if you mean to send it';
  }
  const doubt = doubtOf(signal);
  if (doubt !== null) return `it ${doubt}`;
  if (isPlainText(signal)) return 'text is not set by the generated encoder';
  if (placementLength(signal) > 53 && signal.coding !== 'float') return 'more than 53 bits are kept as recorded';
  if (signal.table && tableDirection(signal.table) === 0) return 'its table gives one value for several raw values';
  const known = knownCodedRange(signal, ranges) !== null || namedStates(signal).length > 0 || signal.kind === 'flag';
  return known ? null : 'no range was observed to keep to: write `allowed` into the map';
}
