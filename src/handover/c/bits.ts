/** The one bit rule as C expressions: fields read from and written to `p`, a payload, through the variable `raw`. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import { hexByte } from './text.ts';

interface BitRun {
  readonly byte: number;
  readonly shift: number;
  readonly bits: number;
  /** Value bits below this run. */
  readonly below: number;
}

/** Runs of neighbouring bits within one byte, least significant first. */
function bitRuns(positions: readonly number[]): BitRun[] {
  const runs: BitRun[] = [];
  positions.forEach((position, below) => {
    const [byte, bit] = [position >> 3, position & 7];
    const last = runs.at(-1);
    if (last && last.byte === byte && last.shift + last.bits === bit)
      runs[runs.length - 1] = { ...last, bits: last.bits + 1 };
    else runs.push({ byte, shift: bit, bits: 1, below });
  });
  return runs;
}

const maskOf = (bits: number): number => (1 << bits) - 1;

/** An expression of type uint64_t for the bits at these positions, least significant first; at most 64. */
export function readExpression(positions: readonly number[], payload = 'p'): string {
  const terms = bitRuns(positions).map(({ byte, shift, bits, below }) => {
    const shifted = shift > 0 ? `((unsigned)${payload}[${byte}] >> ${shift})` : `(unsigned)${payload}[${byte}]`;
    const part = shift + bits < 8 ? `(${shifted} & ${hexByte(maskOf(bits))})` : shifted;
    return below > 0 ? `((uint64_t)(${part}) << ${below})` : `(uint64_t)(${part})`;
  });
  return terms.join(' | ');
}

/** Statements that write the low bits of the uint64_t `value` to the field; no other bit is touched. */
export function writeStatements(placement: Placement, value: string, payload = 'p'): string[] {
  return bitRuns(bitPositions(placement)).map(({ byte, shift, bits, below }) => {
    const mask = maskOf(bits);
    const keep = hexByte(0xff & ~(mask << shift));
    const moved = below > 0 ? `(${value} >> ${below})` : value;
    const part = `((unsigned)(${moved} & ${hexByte(mask)}) << ${shift})`;
    return `${payload}[${byte}] = (uint8_t)(((unsigned)${payload}[${byte}] & ${keep}) | ${part});`;
  });
}
