/**
 * Identifiers that a gateway sends: copies of another bus's frames say nothing of the gateway's clock, but all that come onto a bus from
 * the same other bus, each about as long after its original, are sent by one gateway. Whether it is one of the other groups'
 * module stays open.
 */
import type { Stream } from '../../frames/table.ts';
import type { CopyFinding } from './copies.ts';
import { median } from '../robust.ts';

export interface RelayedGroup {
  readonly from: string;
  readonly to: string;
  readonly copies: readonly { readonly stream: Stream; readonly copy: CopyFinding; readonly confidence: number }[];
}

/** That two copies onto one bus are one gateway's: vehicles have one between two buses, as a rule (common practice, no source). */
const ONE_GATEWAY = 0.95;
/** One software relays within so many times the usual delay of its others, either way. */
const DELAY_RATIO = 3;
/** For copies whose delay is another's. */
const ODD_DELAY = 0.6;

/** Two copies and more of one bus onto another; by buses in the order of their names. */
export function relayedGroups(copies: ReadonlyMap<Stream, CopyFinding>): RelayedGroup[] {
  const found = new Map<string, [Stream, CopyFinding][]>();
  for (const [stream, copy] of copies) {
    const way = `${stream.bus}\u0000${copy.original.bus}`;
    found.set(way, [...(found.get(way) ?? []), [stream, copy]]);
  }
  return [...found.entries()]
    .filter(([, each]) => each.length >= 2)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([way, each]) => {
      const [to, from] = way.split('\u0000') as [string, string];
      const usualUs = median(Float64Array.from(each, ([, { delayUs }]) => delayUs));
      const rated = each.map(([stream, copy]) => {
        const ratio = copy.delayUs / usualUs;
        const isUsual = ratio < DELAY_RATIO && ratio > 1 / DELAY_RATIO;
        return { stream, copy, confidence: Number((copy.share * (isUsual ? ONE_GATEWAY : ODD_DELAY)).toFixed(3)) };
      });
      return { from, to, copies: rated.sort((a, b) => a.stream.index - b.stream.index) };
    });
}
