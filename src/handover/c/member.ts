/** A signal's member of its frame's struct: which C type holds it, and how it is declared. */
import { placementLength } from '../../frames/bits.ts';
import type { MapSignal } from '../../map/schema.ts';
import type { Scaling } from './context.ts';
import type { FixedPoint } from './fixed-point.ts';
import { commentText } from './text.ts';

/**
 * `number`: double. `fixed`: whole numbers of a stated unit. `integer`: uint32_t, for states and flags. `wide`: uint64_t raw
 * beyond 53 bits. `bits`: the bits of an IEEE 754 float, where there is no floating point. `text`: characters. Null: more bits
 * than C takes here.
 */
type MemberKind = 'number' | 'fixed' | 'integer' | 'wide' | 'bits' | 'text' | null;

export interface CSignal {
  readonly signal: MapSignal;
  readonly bits: number;
  readonly kind: Exclude<MemberKind, null>;
  /** Of the member, unique in its struct; `<member>_valid` is free too. */
  readonly member: string;
  /** C condition of its page over the struct, or null. */
  readonly page: string | null;
  /** Macro of its number, for `failed`. */
  readonly number: string;
  /** Of kind `fixed`; else null. */
  readonly fixed: FixedPoint | null;
  /** Macro of the counts that make one unit; null where there is none. */
  readonly perUnit: string | null;
}

/** A map may say a table and leave it empty: then it has none. */
const hasTable = ({ table }: MapSignal): boolean => (table?.length ?? 0) > 0;

export function memberKind(signal: MapSignal, scaling: Scaling): MemberKind {
  const bits = placementLength(signal);
  if (signal.coding === 'text') return 'text';
  if (bits > 64) return null;
  // A map with such a float has an error that its reader warns of; there is no rule to read it by.
  if (signal.coding === 'float' && bits !== 32 && bits !== 64) return null;
  if (signal.coding === 'float') return scaling === 'float' ? 'number' : 'bits';
  if (bits > 53) return 'wide';
  const plain = signal.coding === 'unsigned' && signal.scale === 1 && signal.offset === 0 && !hasTable(signal);
  if (plain && bits <= 32 && signal.kind !== 'number') return 'integer';
  return scaling === 'float' ? 'number' : 'fixed';
}

function typeOf({ kind, fixed, bits }: CSignal): string {
  if (kind === 'fixed') return fixed?.type ?? 'int64_t';
  if (kind === 'bits') return bits <= 32 ? 'uint32_t' : 'uint64_t';
  return { number: 'double', integer: 'uint32_t', wide: 'uint64_t', text: 'char' }[kind];
}

const scaleWords = ({ scale, offset }: MapSignal): string => ` x ${scale}${offset === 0 ? '' : ` + ${offset}`}`;

function countsWords({ signal, kind, fixed, perUnit }: CSignal): string {
  if (kind === 'wide') return ', raw: more than 53 bits';
  if (kind === 'bits') return `, the bits of an IEEE 754 float: physical = float${scaleWords(signal)}`;
  if (kind !== 'fixed' || fixed?.perUnit === 1n) return '';
  if (perUnit !== null) return `, ${fixed?.perUnit} counts to one`;
  return hasTable(signal) ? ', coded: its table does not fit' : `, coded: physical = count${scaleWords(signal)}`;
}

export function declareMember(c: CSignal): string[] {
  const { signal, kind, member, bits } = c;
  const unit = signal.unit ? `, ${signal.unit}` : '';
  const note = `/* ${commentText(`${signal.name}${unit}${countsWords(c)}`, 240)} */`;
  const size = kind === 'text' ? `[${Math.floor(bits / 8) + 1}]` : '';
  return [`${typeOf(c)} ${member}${size}; ${note}`, `uint8_t ${member}_valid;`];
}

/** How many counts make one unit, for members in whole numbers. */
export function perUnitMacro({ fixed, perUnit, signal }: CSignal): string[] {
  if (perUnit === null || !fixed?.perUnit) return [];
  const value = fixed.perUnit <= 0x7fffn ? String(fixed.perUnit) : `INT64_C(${fixed.perUnit})`;
  return [
    `#define ${perUnit} ${value} /* counts of ${commentText(signal.name)} that make one ${commentText(signal.unit || 'unit')} */`,
  ];
}
