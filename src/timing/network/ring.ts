/**
 * Network management by a logical ring: each node's message names the node that comes next, which sends a fixed time later; who appears or
 * vanishes changes the names (OSEK/VDX network management, now ISO 17356-5, from memory). Such messages answer each other: a
 * recording played back names nodes that may not be there. Claimed only where names tell who sends next all the way round.
 */
import { byteAt, type Candidate } from './candidates.ts';

export interface RingNode {
  readonly candidate: Candidate;
  /** The number that others name it by. */
  readonly node: number;
  /** Numbers that it named, the most frequent first. */
  readonly successors: readonly number[];
  readonly why: string;
}

const NODES_LEAST = 3;
const TURNS_LEAST = 30;
/** So many of the messages name the sender of the next, and as many of those at which the round begins again. */
const NAMED_SHARE = 0.85;
const NAMED_AT_WRAP = 0.7;
/** Passing takes one and the same time: so many within this share of the median. */
const PASS_SPREAD = 0.3;
const PASS_SHARE = 0.75;
/** A member that is named less than this is none. */
const MEMBER_SHARE = 0.6;
/** Longest plausible wait for the next message, in median passing times. */
const BROKEN = 2;
const BYTES_LOOKED_AT = 2;

/** All messages of a family in order of time. */
interface Turns {
  /** [n] member, row, and microseconds. */
  readonly member: Int32Array;
  readonly row: Int32Array;
  readonly timeUs: Float64Array;
}

function turnsOf(family: readonly Candidate[]): Turns {
  const all: { member: number; row: number; us: number }[] = [];
  for (const [member, { stream }] of family.entries()) {
    for (let row = 0; row < stream.count; row++) all.push({ member, row, us: stream.timeUs[row] as number });
  }
  all.sort((one, other) => one.us - other.us);
  return {
    member: Int32Array.from(all, ({ member }) => member),
    row: Int32Array.from(all, ({ row }) => row),
    timeUs: Float64Array.from(all, ({ us }) => us),
  };
}

/** How well a byte's values name who sends next, with the shift from identifiers to numbers that fits best. */
interface Naming {
  readonly byte: number;
  /** Number of a node less its identifier, modulo 256. */
  readonly shift: number;
  readonly named: number;
  readonly turns: number;
  readonly namedAtWrap: number;
  readonly wraps: number;
  /** By member: how often it sent next, and how often it was named then. */
  readonly came: readonly number[];
  readonly called: readonly number[];
  readonly passUs: number;
  readonly steady: number;
}

function naming(family: readonly Candidate[], turns: Turns, byte: number): Naming {
  const n = turns.member.length;
  const passes = Float64Array.from(
    { length: Math.max(0, n - 1) },
    (_, i) => (turns.timeUs[i + 1] as number) - (turns.timeUs[i] as number),
  );
  const passUs = Float64Array.from(passes).sort()[passes.length >> 1] ?? 0;
  const member = (at: number): Candidate => family[turns.member[at] as number] as Candidate;
  const value = (at: number): number => byteAt(member(at).stream, turns.row[at] as number, byte);
  const shifts = new Int32Array(256);
  const isPassed = (at: number): boolean => (passes[at] as number) < BROKEN * passUs;
  for (let at = 0; at + 1 < n; at++) {
    if (isPassed(at)) shifts[(value(at) - member(at + 1).stream.id) & 0xff]!++;
  }
  const shift = shifts.indexOf(shifts.reduce((most, count) => Math.max(most, count), 0));
  let [named, looked, namedAtWrap, wraps, steady] = [0, 0, 0, 0, 0];
  const came = family.map(() => 0);
  const called = family.map(() => 0);
  for (let at = 0; at + 1 < n; at++) {
    if (!isPassed(at)) continue;
    looked++;
    const [own, next] = [member(at).stream.id, member(at + 1).stream.id];
    const isNamed = ((next + shift) & 0xff) === value(at);
    const who = turns.member[at + 1] as number;
    came[who] = (came[who] as number) + 1;
    if (next <= own) wraps++;
    if (Math.abs((passes[at] as number) - passUs) <= PASS_SPREAD * passUs) steady++;
    if (!isNamed) continue;
    named++;
    called[who] = (called[who] as number) + 1;
    if (next <= own) namedAtWrap++;
  }
  return { byte, shift, named, turns: looked, namedAtWrap, wraps, came, called, passUs, steady };
}

function isRing({ named, turns, namedAtWrap, wraps, steady }: Naming): boolean {
  return (
    turns >= TURNS_LEAST &&
    named >= NAMED_SHARE * turns &&
    wraps >= 5 &&
    namedAtWrap >= NAMED_AT_WRAP * wraps &&
    steady >= PASS_SHARE * turns
  );
}

/** Different successors that a member named, the most frequent first; its own number is an announcement and left out. */
function successorsOf({ stream }: Candidate, byte: number, own: number): number[] {
  const counts = new Int32Array(256);
  for (let row = 0; row < stream.count; row++) counts[byteAt(stream, row, byte)]!++;
  return [...counts.keys()]
    .filter((value) => (counts[value] as number) > 0 && value !== own)
    .sort((a, b) => (counts[b] as number) - (counts[a] as number));
}

function describe(family: readonly Candidate[], best: Naming): RingNode[] {
  const passMs = Number((best.passUs / 1000).toPrecision(3));
  return family.map((candidate) => {
    const node = (candidate.stream.id + best.shift) & 0xff;
    const successors = successorsOf(candidate, best.byte, node);
    const changes = successors.length > 1 ? `, at other times ${successors.slice(1).join(', ')}` : '';
    return {
      candidate,
      node,
      successors,
      why: `network management by a ring, node ${node}: byte ${best.byte} names who sends next, ${passMs} ms later (${best.named} of ${best.turns} turns of ${family.length} nodes); it names ${successors[0] ?? 'itself only'}${changes}. Replay will not do: answers must be generated`,
    };
  });
}

/** Members that keep one round: theirs is the same interval. */
function roundsOf(family: readonly Candidate[]): Candidate[][] {
  const sorted = [...family].sort((a, b) => (a.row.medianIntervalMs ?? 0) - (b.row.medianIntervalMs ?? 0));
  const rounds: Candidate[][] = [];
  for (const candidate of sorted) {
    const last = rounds[rounds.length - 1];
    const first = last?.[0]?.row.medianIntervalMs ?? 0;
    if (last && (candidate.row.medianIntervalMs ?? 0) < 1.3 * first) last.push(candidate);
    else rounds.push([candidate]);
  }
  return rounds.filter((round) => round.length >= NODES_LEAST);
}

function judge(round: readonly Candidate[]): RingNode[] {
  let members = [...round];
  for (let tries = 0; tries < 3 && members.length >= NODES_LEAST; tries++) {
    const turns = turnsOf(members);
    const namings = Array.from({ length: BYTES_LOOKED_AT }, (_, byte) => naming(members, turns, byte));
    const best = namings.reduce((most, each) => (each.named > most.named ? each : most));
    if (isRing(best)) return describe(members, best);
    const kept = members.filter(
      (_, at) => (best.called[at] as number) >= MEMBER_SHARE * Math.max(1, best.came[at] as number),
    );
    if (kept.length === members.length) return [];
    members = kept;
  }
  return [];
}

/** The members of a family that pass a token round; empty where none do. */
export function ringOf(family: readonly Candidate[]): RingNode[] {
  for (const round of roundsOf(family)) {
    const nodes = judge(round);
    if (nodes.length > 0) return nodes;
  }
  return [];
}
