/**
 * Whether bits are but the low end of a longer number: where they come round, the bit above them turns, and nowhere else
 * (carrying, common arithmetic). A clock that is read every so many ticks may turn that bit with each reading: then a carry
 * turns it back. Such bits take turns like pages, and the rest of their own number looks as if they decided on it. A carried bit differs from one round
 * to the next, so what is the same each time a value comes is no carry: it is the page's.
 */
import type { Piece } from '../frames/bits.ts';
import type { PayloadRows } from './payload-rows.ts';

/** Times that bits must come round for this to be judged. */
const ROUNDS_MIN = 6;
/** Share of the rounds at which the bit above turns, and share of its turns that come with a round. */
const CARRIED = 0.85;

/** Positions of the bit that is next above, in either order. */
function above({ lsb, length }: Piece, bytes: number): readonly number[] {
  const top = lsb.byte * 8 + lsb.bit + length - 1;
  if ((top & 7) < 7) return [top + 1];
  return [top + 1, (top & ~7) - 8].filter((at) => at >= 0 && at < bytes * 8);
}

interface Rounds {
  /** Rows at which the piece came round, and how often the bit above turned there. */
  readonly rounds: number;
  readonly carried: number;
  /** Times that the bit above turned at all. */
  readonly turns: number;
  /** Rows at which the piece moved on without coming round, and how often the bit above turned there. */
  readonly moves: number;
  readonly turned: number;
}

/** Whether the bit above goes by the rounds: turned by them alone, or by each step but where a carry turns it back. */
function goesByRounds({ rounds, carried, turns, moves, turned }: Rounds): boolean {
  if (rounds < ROUNDS_MIN) return false;
  const byCarry = carried >= CARRIED * Math.max(rounds, turns);
  const byStep = rounds - carried >= CARRIED * rounds && moves >= ROUNDS_MIN && turned >= CARRIED * moves;
  return byCarry || byStep;
}

/** Share of rows on which the bit above is what it mostly is beside the piece's value, where it goes by the value. */
const BY_VALUE = 0.95;

/** Whether the bit is the same each time a value comes. */
function goesByValue({ bytes, data, count }: PayloadRows, at: number, values: Uint8Array): boolean {
  const rows = new Uint32Array(256);
  const set = new Uint32Array(256);
  for (let row = 0; row < count; row++) {
    const value = values[row] as number;
    rows[value]!++;
    set[value]! += ((data[row * bytes + (at >> 3)] as number) >> (at & 7)) & 1;
  }
  const usual = rows.reduce((sum, all, value) => sum + Math.max(set[value] as number, all - (set[value] as number)), 0);
  return usual >= BY_VALUE * count;
}

/** values: [rows] the piece's own. */
export function carriesOn(rows: PayloadRows, piece: Piece, values: Uint8Array): boolean {
  const { bytes, data, count } = rows;
  const half = 2 ** (piece.length - 1);
  return above(piece, bytes).some((at) => {
    const [byte, bit] = [at >> 3, at & 7];
    const rounds = { up: 0, down: 0 };
    const carried = { up: 0, down: 0 };
    let [moves, turned, apart] = [0, 0, 0];
    for (let row = 1; row < count; row++) {
      const step = (values[row] as number) - (values[row - 1] as number);
      const own = row * bytes + byte;
      const turn = (((data[own] as number) ^ (data[own - bytes] as number)) >> bit) & 1;
      if (Math.abs(step) < half) {
        apart += turn;
        if (step === 0) continue;
        moves++;
        turned += turn;
        continue;
      }
      const way = step < 0 ? 'up' : 'down';
      rounds[way]++;
      carried[way] += turn;
    }
    const turns = carried.up + carried.down + apart;
    const carries = (['up', 'down'] as const).some((way) =>
      goesByRounds({ rounds: rounds[way], carried: carried[way], turns, moves, turned }),
    );
    return carries && !goesByValue(rows, at, values);
  });
}
