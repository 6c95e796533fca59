/** The house styles of the stranger's vehicles: how a house packs values, which widths, signs, guards and fillings it is used to. */
import type { ByteOrder } from '../../../src/frames/bits.ts';

export type GuardKind =
  | 'xor8'
  | 'xor4'
  | 'sum8'
  | 'sum8carry'
  | 'sum8id'
  | 'sum8not'
  | 'sum8len'
  | 'sum4'
  | 'sum4id'
  | 'crc4'
  | 'crc8'
  | 'crc8id'
  | 'crc8table'
  | 'crc8two'
  | 'crc16'
  | 'crc16id'
  | 'crc32'
  | 'mac'
  | 'unsolved';

export interface Style {
  readonly order: ByteOrder;
  /** Share of values in the other order. */
  readonly mixed: number;
  /** Values begin on multiples of so many bits. */
  readonly align: number;
  readonly widths: readonly number[];
  /** Share of spare bytes of all ones. */
  readonly spareOnes: number;
  readonly fd: boolean;
  readonly extended: boolean;
  readonly signs: readonly ('signed' | 'unsigned' | 'sign-magnitude' | 'float')[];
  readonly guardsAt: 'start' | 'end';
  readonly guards: readonly GuardKind[];
  readonly guardRate: number;
  /** Share of values that are all ones until they are known. */
  readonly startFill: number;
}

const classic = { mixed: 0, fd: false, extended: false, guardsAt: 'end' } as const;

export const STYLES = {
  packed: {
    ...classic,
    order: 'little',
    align: 1,
    widths: [7, 8, 9, 10, 11, 12, 13, 14, 15],
    spareOnes: 0.1,
    signs: ['signed', 'unsigned'],
    guardsAt: 'start',
    guards: ['crc8', 'crc8id', 'crc8table', 'xor8'],
    guardRate: 0.7,
    startFill: 0.1,
  },
  bytes: {
    ...classic,
    order: 'big',
    align: 8,
    widths: [8, 16, 16],
    spareOnes: 0.2,
    signs: ['signed'],
    guards: ['xor8', 'sum8', 'crc8', 'crc16'],
    guardRate: 0.5,
    startFill: 0.15,
  },
  nibbles: {
    ...classic,
    order: 'big',
    mixed: 0.05,
    align: 4,
    widths: [8, 12, 12, 16],
    spareOnes: 0.1,
    signs: ['signed', 'signed', 'sign-magnitude'],
    guards: ['sum4', 'xor4', 'sum8carry', 'crc4'],
    guardRate: 0.5,
    startFill: 0.1,
  },
  long: {
    ...classic,
    order: 'little',
    mixed: 0.25,
    align: 2,
    widths: [8, 10, 12, 14, 16, 16, 24],
    spareOnes: 0.1,
    fd: true,
    signs: ['signed', 'unsigned', 'float'],
    guardsAt: 'start',
    guards: ['crc16', 'crc16id', 'crc32', 'crc8two'],
    guardRate: 0.8,
    startFill: 0.1,
  },
  sums: {
    ...classic,
    order: 'big',
    align: 1,
    widths: [8, 10, 12, 14, 15, 16],
    spareOnes: 0.05,
    signs: ['signed', 'unsigned'],
    guards: ['sum8id', 'sum8id', 'sum8not', 'sum8len'],
    guardRate: 0.8,
    startFill: 0.05,
  },
  truck: {
    ...classic,
    order: 'little',
    align: 8,
    widths: [8, 16, 16, 32],
    spareOnes: 1,
    extended: true,
    signs: ['unsigned'],
    guards: ['sum4id', 'crc8'],
    guardRate: 0.3,
    startFill: 0.3,
  },
} as const satisfies Record<string, Style>;

export type StyleName = keyof typeof STYLES;
