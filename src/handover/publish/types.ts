/** Words of the publishing copy: where a number stands, what is written in its place, what was found and why. */
import type { StreamKey } from '../../frames/table.ts';

/** How characters are packed into bits. */
export type Packing =
  | 'text'
  | 'seven-bit-text'
  | 'six-bit-text'
  | 'decimal-digits'
  | 'hex-digits'
  | 'binary'
  | 'whole-answer'
  | 'named-field';

/** Over what a number is spread. */
export type Reach = 'frame' | 'pages' | 'identifiers' | 'message' | 'fragment';

/**
 * What is written over in the frames of one stream: where all bits under `holds` are as they say, bits under `writes` become those given. Bytes
 * that a rule does not name are left out of both lists.
 */
export interface BlankRule extends StreamKey {
  readonly holds: readonly MaskedByte[];
  readonly writes: readonly MaskedByte[];
}

export interface MaskedByte {
  readonly byte: number;
  readonly mask: number;
  /** Bits outside the mask are 0. */
  readonly value: number;
}

export interface Occurrence {
  readonly packing: Packing;
  readonly reach: Reach;
  readonly rules: readonly BlankRule[];
}

export type NumberKind =
  /** 17 characters of the alphabet of ISO 3779. */
  | 'vehicle-number'
  /** A constant text or run of digits that is hardly chance. */
  | 'serial-number'
  /** The person said so. */
  | 'typed'
  /** A diagnostic answer that a standard sets aside for identity. */
  | 'answer'
  /** A signal whose name says so. */
  | 'named-in-map'
  /** A position on earth, by the map's name and unit: shown, and blanked only when asked for. */
  | 'position';

export interface Find {
  /** "vehicle-number-1": to keep or blank it by. The same capture and map give the same keys. */
  readonly key: string;
  readonly kind: NumberKind;
  /** The number itself. For the person's own eyes: it is written nowhere. */
  readonly secret: string;
  /** What else its bits may read: they are looked for and blanked alike. */
  readonly others?: readonly string[];
  readonly confidence: number;
  /** Bits by which it speaks against chance; null where chance is not the question (typed, named, asked for). */
  readonly evidenceBits: number | null;
  /** In words, with figures and without the number. */
  readonly why: string;
  readonly occurrences: readonly Occurrence[];
  /** Whether it is blanked unless the person says otherwise. */
  readonly usual: boolean;
}

export interface Search {
  readonly finds: readonly Find[];
  /** Runs of characters that were judged against chance, over all readings. */
  readonly tried: number;
  /** Runs of decimal digits that were judged, apart: half of all bytes are such digits. */
  readonly triedDigits: number;
}

/** Alike wherever a stream is spoken of. */
export const streamKeyText = ({ bus, id, extended, direction }: StreamKey): string =>
  `${bus} ${id} ${extended ? 'x' : ''} ${direction}`;
