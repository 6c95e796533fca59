/** What a found field really is: the true field it shares most bits with, so that found fields and true ones are judged alike. */
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import type { EvidenceTruth, TrueField } from './truth.ts';

export interface Found extends Placement {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

/** Null where it touches no true field, such as a counter or a guard. */
export function trueFieldOf({ fields }: EvidenceTruth, found: Found): TrueField | null {
  const bits = new Set(bitPositions(found));
  const shared = (field: TrueField): number => bitPositions(field).filter((bit) => bits.has(bit)).length;
  const [best] = fields
    .filter(({ bus, id, extended }) => bus === found.bus && id === found.id && extended === found.extended)
    .map((field) => ({ field, bits: shared(field) }))
    .filter((each) => each.bits > 0)
    .sort((a, b) => b.bits - a.bits);
  return best?.field ?? null;
}

/** Where a signal is sent; null where its module is not there. */
export const fieldFor = ({ fields }: EvidenceTruth, signal: string): TrueField | null =>
  fields.find((field) => field.signal === signal) ?? null;
