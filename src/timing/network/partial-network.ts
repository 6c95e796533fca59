/**
 * Network management of the kind that each node sends for as long as it needs the bus, after which the bus sleeps (AUTOSAR network management for
 * CAN, from memory: source node identifier in byte 0 and control bits in byte 1, or swapped; bit 0 asks for repetition, bit 4 tells who woke
 * the bus, bit 6 that information on partial networks follows). Claimed only for several nodes together whose number is in their
 * identifier and in their payload, and whose control bits speak of waking up, or that fall silent before the bus does.
 */
import type { Gap } from '../types.ts';
import { changingBits, constantByte, byteAt, type Candidate } from './candidates.ts';

export interface PartialNetworkNode {
  readonly candidate: Candidate;
  readonly node: number;
  readonly why: string;
}

const NODES_LEAST = 3;
/** Bits of the control byte that may move: repetition, coordinator, who woke, learning, partial networks. */
const CONTROL_BITS = 0b0111_1001;
const WAKE_BITS = 0b0001_0001;
/** Nodes of one network send at one pace, give or take. */
const PACE_SPREAD = 2.5;
/** Bits that speak of waking are gone by then, and a stream has begun anew after so many of its intervals. */
const WAKING_US = 10e6;
const BEGINS_INTERVALS = 3;
/** So many nodes at least must show it. */
const TELLING_LEAST = 2;
/** Between the last frame of a node and the last of its bus. */
const SILENT_BEFORE_US = 1e6;

/** Whether the wake bits are set only soon after the stream begins or begins anew, and not for good. */
function tellsWaking({ stream, row }: Candidate, byte: number): boolean {
  const intervalUs = 1000 * (row.medianIntervalMs ?? Infinity);
  const changing = changingBits(stream, byte) & WAKE_BITS;
  if (changing === 0) return false;
  let [begunUs, set] = [stream.timeUs[0] as number, 0];
  for (let at = 0; at < stream.count; at++) {
    const us = stream.timeUs[at] as number;
    if (at > 0 && us - (stream.timeUs[at - 1] as number) > BEGINS_INTERVALS * intervalUs) begunUs = us;
    if ((byteAt(stream, at, byte) & changing) === 0) continue;
    if (us - begunUs > WAKING_US) return false;
    set++;
  }
  return set > 0 && set < 0.8 * stream.count;
}

/** Whether the node stops well before its bus falls silent, at least once. */
function stopsFirst({ stream, row }: Candidate, silences: readonly Gap[]): boolean {
  const intervalUs = 1000 * (row.medianIntervalMs ?? Infinity);
  return silences.some(({ fromS }) => {
    const silentUs = fromS * 1e6;
    let last = -1;
    for (let at = 0; at < stream.count && (stream.timeUs[at] as number) <= silentUs; at++) last = at;
    if (last < BEGINS_INTERVALS) return false;
    const lead = silentUs - (stream.timeUs[last] as number);
    const usual = (stream.timeUs[last] as number) - (stream.timeUs[last - 1] as number);
    return (
      lead > SILENT_BEFORE_US &&
      lead > BEGINS_INTERVALS * intervalUs &&
      usual < BEGINS_INTERVALS * intervalUs &&
      lead < 20e6
    );
  });
}

interface Numbered {
  readonly candidate: Candidate;
  readonly node: number;
}

/** Members whose identifier is one base plus the number in their payload. */
function numbered(family: readonly Candidate[], byte: number): Numbered[] {
  const byBase = new Map<number, Numbered[]>();
  for (const candidate of family) {
    const node = constantByte(candidate.stream, byte);
    if (node < 0) continue;
    const base = candidate.stream.id - node;
    const known = byBase.get(base);
    if (known) known.push({ candidate, node });
    else byBase.set(base, [{ candidate, node }]);
  }
  return [...byBase.values()].reduce((most, each) => (each.length > most.length ? each : most), []);
}

function pacedAlike(members: readonly Numbered[]): Numbered[] {
  const intervals = members.map(({ candidate }) => candidate.row.medianIntervalMs ?? 0).sort((a, b) => a - b);
  const middle = intervals[intervals.length >> 1] as number;
  return members.filter(({ candidate }) => {
    const ratio = (candidate.row.medianIntervalMs ?? 0) / middle;
    return ratio < PACE_SPREAD && ratio > 1 / PACE_SPREAD;
  });
}

const hex = (value: number): string => `0x${value.toString(16).toUpperCase().padStart(2, '0')}`;

/** @param silences of the family's bus */
export function partialNetwork(family: readonly Candidate[], silences: readonly Gap[]): PartialNetworkNode[] {
  for (const [byte, control] of [
    [0, 1],
    [1, 0],
  ] as const) {
    const members = pacedAlike(numbered(family, byte)).filter(
      ({ candidate }) => (changingBits(candidate.stream, control) & ~CONTROL_BITS) === 0,
    );
    if (members.length < NODES_LEAST) continue;
    const waking = members.filter(({ candidate }) => tellsWaking(candidate, control)).length;
    const stopping = members.filter(({ candidate }) => stopsFirst(candidate, silences)).length;
    if (Math.max(waking, stopping) < TELLING_LEAST) continue;
    const evidence = [
      waking > 0 ? `control bits of ${waking} are set just after waking only` : '',
      stopping > 0 ? `${stopping} fall silent before the bus does` : '',
    ].filter(Boolean);
    return members.map(({ candidate, node }) => ({
      candidate,
      node,
      why: `network management, node ${hex(node)}: ${members.length} identifiers are one base plus the number in their byte ${byte}; ${evidence.join('; ')}. It is sent while the node needs the bus`,
    }));
  }
  return [];
}
