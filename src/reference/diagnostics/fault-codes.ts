/**
 * Fault codes as service 19 gives them (ISO 14229-1, reportDTCByStatusMask and its kin): three bytes and a status each. The two top bits say the
 * system and the next digits the group (SAE J2012 / ISO 15031-6 format); network codes whose group is "lost communication" say that a module misses
 * a partner, which tells what must be kept alive on a bench.
 */
import { hexDigits } from '../../kit/units.ts';

export interface FaultCode {
  /** Such as "U0100-87": system letter and four digits, then the failure-type byte where it is not 0. */
  readonly code: string;
  readonly status: number;
  /** Status bit 0: failing now. Bit 3: confirmed. */
  readonly isFailing: boolean;
  readonly isConfirmed: boolean;
  /** U01xx and U02xx: lost communication with a module (SAE J2012, network codes). */
  readonly isLostCommunication: boolean;
}

const SYSTEMS = 'PCBU';
/** Sub-functions whose answers list codes with their status behind an availability mask. */
const LISTING = new Set([0x02, 0x0a, 0x0b, 0x0c, 0x0d, 0x0e, 0x15]);
const RECORD_BYTES = 4;

/** The code in its usual spelling. */
export function faultCodeText(high: number, low: number, failureType: number): string {
  const system = SYSTEMS[high >> 6] as string;
  const digits = `${(high >> 4) & 3}${hexDigits(high & 15, 1)}${hexDigits(low, 2)}`;
  return `${system}${digits}${failureType === 0 ? '' : `-${hexDigits(failureType, 2)}`}`;
}

/** answer: from its service byte 0x59 on. Null where it lists no codes. */
export function faultCodesOf(answer: Uint8Array): readonly FaultCode[] | null {
  const records = answer.subarray(3);
  if (!LISTING.has(answer[1] ?? -1) || answer.length < 3 || records.length % RECORD_BYTES !== 0) return null;
  const codes: FaultCode[] = [];
  for (let at = 0; at < records.length; at += RECORD_BYTES) {
    const [high, low, failureType, status] = records.subarray(at, at + RECORD_BYTES) as unknown as [
      number,
      number,
      number,
      number,
    ];
    codes.push({
      code: faultCodeText(high, low, failureType),
      status,
      isFailing: (status & 1) !== 0,
      isConfirmed: (status & 8) !== 0,
      isLostCommunication: high >> 6 === 3 && (high & 0x3f) >= 1 && (high & 0x3f) <= 2,
    });
  }
  return codes;
}
