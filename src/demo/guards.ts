/**
 * A module's guard in one of its frames: where counter and checksum lie and which parameters the rule has. Polynomials and
 * the forms with a data identifier are those of published practice (AUTOSAR PRS E2E profiles 1, 2 and 5; SAE J1850).
 */
import type { Piece } from '../frames/bits.ts';
import type { Random } from '../kit/random.ts';
import type { MapChecksum, MapCounter } from '../map/schema.ts';
import type { GuardHabit } from './habits.ts';
import { bitAddress, hex, mapPiece, type SecretTag } from './true-frame.ts';

export interface GuardPlan {
  readonly counters: readonly MapCounter[];
  readonly checksums: readonly MapChecksum[];
  readonly tag: SecretTag | null;
  readonly pieces: readonly Piece[];
}

export const NO_GUARD: GuardPlan = { counters: [], checksums: [], tag: null, pieces: [] };

const byteAt = (byte: number): Piece => ({ lsb: bitAddress(byte, 0), length: 8, order: 'little' });
const wordAt = (byte: number): Piece => ({ lsb: bitAddress(byte, 0), length: 16, order: 'little' });

function counterPiece(habit: GuardHabit, checksum: Piece | null, from: number, bytes: number): Piece {
  const { length } = habit.counter;
  const bit = length <= 4 && habit.nibble === 'high' ? 4 : 0;
  if (!checksum) return { lsb: bitAddress(from + bytes - 1, bit), length, order: 'little' };
  const wide = checksum.length === 16 ? 2 : 1;
  if (checksum.length < 8)
    return { lsb: bitAddress(checksum.lsb.byte, 4 - checksum.lsb.bit), length: Math.min(4, length), order: 'little' };
  const byte = habit.at === 'first' ? from + wide : from + bytes - 1 - wide;
  return { lsb: bitAddress(byte, bit), length, order: 'little' };
}

function checksumPiece(habit: GuardHabit, from: number, bytes: number): Piece | null {
  const edge = habit.at === 'first' ? from : from + bytes - 1;
  switch (habit.kind) {
    case 'none':
    case 'counter':
      return null;
    case 'crc16-data-id':
      return wordAt(habit.at === 'first' ? from : from + bytes - 2);
    case 'nibble-sum':
      return { lsb: bitAddress(edge, habit.nibble === 'low' ? 4 : 0), length: 4, order: 'little' };
    default:
      return byteAt(edge);
  }
}

type Rule = Partial<MapChecksum> & Pick<MapChecksum, 'method'>;
const crc8 = (poly: number, init: number, xorout: number, reflected = false): Rule => ({
  method: 'crc',
  width: 8,
  poly: hex(poly),
  init: hex(init),
  refin: reflected,
  refout: reflected,
  xorout: hex(xorout),
});

/** The rule's parameters; each frame has its own data identifier or secret. */
function ruleOf(random: Random, habit: GuardHabit, id: number): Rule {
  const secret = hex(random.below(256));
  const low = hex(id & 0xff);
  const high = hex((id >> 8) & 0xff);
  switch (habit.kind) {
    case 'crc8-last':
      return { ...crc8(habit.poly, 0xff, 0xff), suffix: [low] };
    case 'crc8-data-id':
      return { ...crc8(0x1d, 0, 0), prefix: [low, high] };
    case 'crc8-by-counter':
      return { ...crc8(0x2f, 0xff, 0xff), suffixByCounter: Array.from({ length: 16 }, () => [hex(random.below(256))]) };
    case 'crc16-data-id':
      return {
        method: 'crc',
        width: 16,
        poly: '0x1021',
        init: '0xFFFF',
        refin: false,
        refout: false,
        xorout: '0x0',
        suffix: [low, high],
      };
    case 'crc8-own-poly':
      return { ...crc8(habit.poly, 0, 0), suffix: [secret] };
    case 'crc8-reflected':
      return { ...crc8(0x31, 0, 0, true), prefix: [secret] };
    case 'xor':
      return { method: 'xor', width: 8, init: secret, xorout: '0x0' };
    case 'sum':
      return { method: 'sum', width: 8, init: hex((id + (id >> 8) + 8) & 0xff), xorout: '0x0' };
    case 'sum-complement':
      return { method: 'sum', width: 8, init: '0x0', xorout: '0xFF' };
    case 'sum-end-around':
      return { method: 'sum', width: 8, init: '0x0', xorout: '0xFF', carry: 'end-around' };
    case 'nibble-sum':
      return { method: 'sum', width: 4, unit: 'nibble', init: hex(random.below(16)), xorout: '0x0' };
    case 'keyed':
      return { method: 'mac' };
    default:
      return { method: 'unsolved' };
  }
}

function coveredBytes(piece: Piece, from: number, bytes: number): number[] {
  const covered = Array.from({ length: bytes }, (_, index) => from + index);
  const last = piece.lsb.byte + (piece.length > 8 ? 1 : 0);
  return piece.length < 8 ? covered : covered.filter((byte) => byte < piece.lsb.byte || byte > last);
}

/** Guards bytes from..from + bytes - 1 of a frame. `name` tells two guarded groups of one frame apart. */
export function planGuard(
  random: Random,
  habit: GuardHabit,
  id: number,
  from: number,
  bytes: number,
  name: string,
): GuardPlan {
  if (habit.kind === 'none') return NO_GUARD;
  const checksum = checksumPiece(habit, from, bytes);
  const counter = counterPiece(habit, checksum, from, bytes);
  const { step, every } = habit.counter;
  const max = Math.min(habit.counter.max, 2 ** counter.length - 1);
  const counters: MapCounter[] = [{ name, ...mapPiece(counter), step, every, min: 0, max, when: null, confidence: 1 }];
  if (!checksum) return { counters, checksums: [], tag: null, pieces: [counter] };
  const rule = ruleOf(random, habit, id);
  const covers = coveredBytes(checksum, from, bytes);
  const checksums: MapChecksum[] = [
    { ...mapPiece(checksum), ...rule, covers, when: null, undetermined: [], confidence: 1 },
  ];
  const secret = habit.kind === 'keyed' || habit.kind === 'odd';
  const tag: SecretTag | null = secret
    ? { piece: checksum, kind: habit.kind as SecretTag['kind'], key: random.below(2 ** 31) }
    : null;
  return { counters, checksums, tag, pieces: [counter, checksum] };
}
