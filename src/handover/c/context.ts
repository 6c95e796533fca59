/** What a person chooses about the generated C, and what all its parts share while it is made. */
import type { RangeChoice } from '../../map/limits.ts';
import type { CrcTables } from './crc-tables.ts';
import type { Helper } from './helpers.ts';

/** Doubles, or whole numbers in a stated unit: then the source has no floating point at all. */
export type Scaling = 'float' | 'integer';
/** Bit by bit (small), or by tables of 256 entries (fast) where a rule goes byte by byte and is 8 bits wide or more. */
export type CrcChoice = 'bitwise' | 'table';

export interface COptions {
  /** Before every name; default "sm". */
  readonly prefix?: string;
  /** "frame.signal": commands that a person released into the encoder. */
  readonly release?: readonly string[];
  /** What the encoder keeps to; default `observed`. */
  readonly ranges?: RangeChoice;
  /** Default `float`. */
  readonly scaling?: Scaling;
  /** Default `bitwise`. */
  readonly crc?: CrcChoice;
  /** Mask-and-match filters that the hardware has for each bus and kind of identifier; without it one filter an identifier. */
  readonly filters?: number;
  /** Lines of cautions for the top of the header. */
  readonly cautions: readonly string[];
}

export interface CContext {
  readonly prefix: string;
  readonly macro: string;
  readonly use: (helper: Helper) => string;
  /** What the encoder keeps to. */
  readonly ranges: RangeChoice;
  readonly scaling: Scaling;
  /** Null for bit by bit. */
  readonly tables: CrcTables | null;
}
