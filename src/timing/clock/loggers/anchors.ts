/**
 * Moments that two loggers recorded both: short runs of payloads that came once only on either side, whatever the identifier, since a
 * gateway may rename what it copies. Nothing is assumed of the clocks; every such moment votes for a difference of
 * theirs. Runs are kept or left out by their hash alone, so that both sides keep the same ones.
 */
import type { Steps } from '../../../frames/pictures/steps.ts';
import { lengthAt, type Stream } from '../../../frames/table.ts';

/** Rows at which the payload is another than before, with a hash of each. */
export interface Changes {
  readonly stream: Stream;
  /** [changes] ascending. */
  readonly rows: Int32Array;
  /** [changes] of the payload and its length. */
  readonly hashes: Uint32Array;
}

const ROWS_A_STEP = 50_000;

function hashRow(stream: Stream, row: number): number {
  const length = lengthAt(stream, row);
  let hash = 0x811c9dc5 ^ length;
  const from = row * stream.stride;
  for (let at = from; at < from + length; at++) hash = Math.imul(hash ^ (stream.payload[at] as number), 0x01000193);
  hash ^= hash >>> 15;
  hash = Math.imul(hash, 0x2c1b3c6d);
  return (hash ^ (hash >>> 13)) >>> 0;
}

/** O(bytes). The first frame counts as no change: what came before it is not known. */
export function* changesOf(stream: Stream): Steps<Changes> {
  const rows = new Int32Array(stream.count);
  const hashes = new Uint32Array(stream.count);
  let [kept, before] = [0, hashRow(stream, 0)];
  for (let row = 1; row < stream.count; row++) {
    if (row % ROWS_A_STEP === 0) yield;
    const hash = hashRow(stream, row);
    if (hash === before) continue;
    before = hash;
    rows[kept] = row;
    hashes[kept++] = hash;
  }
  return { stream, rows: rows.subarray(0, kept), hashes: hashes.subarray(0, kept) };
}

/** A moment in one logger's recording. */
interface Moment {
  readonly at: number;
  readonly row: number;
}

/** One of both. */
export interface Anchor {
  /** Places in the lists of changes. */
  readonly a: number;
  readonly b: number;
  readonly aUs: number;
  readonly bUs: number;
}

/** Changes that make a run; a single payload may be rare enough by itself, and survives a gateway that leaves frames out. */
const RUNS = [1, 3];
/** Runs kept of each side, about. */
const KEPT = 20_000;

const mix = (hash: number, more: number): number =>
  (Math.imul(hash ^ (hash >>> 16), 0x45d9f3b) ^ Math.imul(more, 0x27d4eb2f)) >>> 0;

const TWICE: Moment = { at: -1, row: -1 };

/** Runs of one length by their hash; those that come again are marked. */
function* runsOf(all: readonly Changes[], length: number, mask: number): Steps<Map<number, Moment>> {
  const found = new Map<number, Moment>();
  for (const [at, { rows, hashes }] of all.entries()) {
    for (let i = length - 1; i < rows.length; i++) {
      if (i % ROWS_A_STEP === 0) yield;
      let hash = length;
      for (let back = length - 1; back >= 0; back--) hash = mix(hash, hashes[i - back] as number);
      if ((hash & mask) !== 0) continue;
      found.set(hash, found.has(hash) ? TWICE : { at, row: rows[i] as number });
    }
    yield;
  }
  return found;
}

const changesIn = (all: readonly Changes[]): number => all.reduce((sum, { rows }) => sum + rows.length, 0);

/** Cost: O(changes), and a table of about KEPT entries for each side. */
export function* sharedMoments(as: readonly Changes[], bs: readonly Changes[]): Steps<Anchor[]> {
  const most = Math.max(changesIn(as), changesIn(bs));
  const mask = 2 ** Math.max(0, Math.ceil(Math.log2(Math.max(1, most / KEPT)))) - 1;
  const anchors: Anchor[] = [];
  for (const length of RUNS) {
    const inA = yield* runsOf(as, length, mask);
    const inB = yield* runsOf(bs, length, mask);
    for (const [hash, a] of inA) {
      const b = inB.get(hash);
      if (!b || a === TWICE || b === TWICE) continue;
      const [one, other] = [(as[a.at] as Changes).stream, (bs[b.at] as Changes).stream];
      if (lengthAt(one, a.row) !== lengthAt(other, b.row)) continue;
      anchors.push({ a: a.at, b: b.at, aUs: one.timeUs[a.row] as number, bUs: other.timeUs[b.row] as number });
    }
    yield;
  }
  return anchors;
}
