/**
 * How fields are said in words: where they lie, what kind they are, how they are coded. Short forms only; the
 * reason for a field comes from its finder.
 */
import type { Placement } from '../../frames/bits.ts';
import { bitPositions, placementLength } from '../../frames/bits.ts';
import type { MapChecksum, MapCounter, MapSignal, When } from '../../map/schema.ts';

/** Tells two fields apart: place, order, length, pieces and page. */
export function placementKey(placement: Placement, when: When = null): string {
  const pieces = [placement, ...(placement.continues ?? [])];
  const place = pieces.map((p) => `${p.lsb.byte}.${p.lsb.bit}${p.length > 1 ? p.order[0] : ''}${p.length}`).join('+');
  return when ? `${place}?${whenWords(when)}` : place;
}

/** A field of one frame: where it lies, and on which page. */
export interface PlacedField extends Placement {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly when: When;
}

export const isSameField = (a: PlacedField, b: PlacedField): boolean =>
  a.bus === b.bus &&
  Number(a.id) === Number(b.id) &&
  a.extended === b.extended &&
  placementKey(a, a.when) === placementKey(b, b.when);

export const whenWords = (when: When): string =>
  Object.entries(when ?? {})
    .map(([selector, values]) => `${selector} ${values.join(', ')}`)
    .join('; ');

export const countWords = (count: number, noun: string, nouns = `${noun}s`): string =>
  `${count.toLocaleString('en')} ${count === 1 ? noun : nouns}`;

const withinOneByte = (placement: Placement): boolean =>
  new Set(bitPositions(placement).map((bit) => bit >> 3)).size === 1;

/** "number, 16 bits, big, signed"; a flag is only a flag. */
export function kindWords(
  field: Pick<MapSignal, 'kind' | 'coding' | 'order' | 'lsb' | 'length' | 'continues'>,
): string {
  if (field.kind === 'flag') return 'flag';
  const parts = [field.kind as string, countWords(placementLength(field), 'bit')];
  if (!withinOneByte(field)) parts.push(field.continues?.length ? 'in pieces' : field.order);
  if (field.coding !== 'unsigned' && field.coding !== 'text') parts.push(field.coding);
  return parts.join(', ');
}

export const counterWords = ({ min, max, every }: Pick<MapCounter, 'min' | 'max' | 'every'>): string =>
  `counter, ${min} to ${max}${every > 1 ? `, every ${every} frames` : ''}`;

const METHOD_WORDS: Record<MapChecksum['method'], string> = {
  xor: 'xor',
  sum: 'sum',
  crc: 'CRC',
  copy: 'copy of another field',
  mac: 'depends on a secret',
  unsolved: 'rule not found',
};

/** "checksum, CRC-8, poly 0x1D". */
export function checksumWords({ method, width, poly, length }: MapChecksum): string {
  const sized = method === 'crc' || method === 'sum' || method === 'xor';
  const rule = sized ? `${METHOD_WORDS[method]}-${width ?? length}` : METHOD_WORDS[method];
  return ['checksum', rule, method === 'crc' && poly ? `poly ${poly}` : ''].filter(Boolean).join(', ');
}

const UNCLAIMED_WORDS = {
  constant: 'constant',
  filling: 'no-data filling',
  noise: 'noise',
  cipher: 'looks enciphered',
  idle: 'idle',
} as const;
export const unclaimedWords = (reason: keyof typeof UNCLAIMED_WORDS): string => UNCLAIMED_WORDS[reason];
