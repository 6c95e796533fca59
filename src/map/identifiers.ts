/**
 * Identifiers as numbers and the parts of an SAE J1939 identifier: priority 3 bits, extended data page, data page,
 * PDU format 8, PDU specific 8, source address 8. Below format 240 the specific byte is a destination and no
 * part of the parameter group number.
 */
export interface J1939Id {
  readonly priority: number;
  readonly extendedDataPage: number;
  readonly dataPage: number;
  readonly pduFormat: number;
  readonly pduSpecific: number;
  readonly source: number;
  /** Parameter group number. */
  readonly pgn: number;
  /** Destination address, or null where the message is for everyone. */
  readonly destination: number | null;
}

export function splitJ1939Id(id: number): J1939Id {
  const pduFormat = (id >>> 16) & 0xff;
  const pduSpecific = (id >>> 8) & 0xff;
  const addressed = pduFormat < 240;
  return {
    priority: (id >>> 26) & 0x7,
    extendedDataPage: (id >>> 25) & 1,
    dataPage: (id >>> 24) & 1,
    pduFormat,
    pduSpecific,
    source: id & 0xff,
    pgn: ((id >>> 8) & 0x3ff00) | (addressed ? 0 : pduSpecific),
    destination: addressed ? pduSpecific : null,
  };
}

/** "0x1F4" to a number. */
export const idNumber = (id: string): number => Number(id);

/** One text for (bus, id, extended), whatever leading zeros the id was written with. */
export function frameKey(frame: { readonly bus: string; readonly id: string; readonly extended: boolean }): string {
  return `${frame.bus}/0x${idNumber(frame.id).toString(16).toUpperCase()}${frame.extended ? 'x' : ''}`;
}
