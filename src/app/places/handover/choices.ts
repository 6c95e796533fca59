/**
 * What a person chose for the controller: how the C is written, and which signals that may move the machine it may set. Kept in the dossier, with undo;
 * a choice that this program does not know falls back to the usual one.
 */
import { z } from 'zod';
import type { Dossier } from '../../../jobs/dossier.ts';
import { useDossier } from '../../stores/dossier.ts';

export const PREFIX = /^[a-z][a-z0-9_]{0,23}$/i;
export const MOST_FILTERS = 64;

const choicesSchema = z.looseObject({
  prefix: z.string().regex(PREFIX).catch('sm'),
  ranges: z.enum(['observed', 'allowed']).catch('observed'),
  scaling: z.enum(['float', 'integer']).catch('float'),
  crc: z.enum(['bitwise', 'table']).catch('bitwise'),
  /** Receive filters that the hardware has for each bus and kind of identifier; null: one an identifier. */
  filters: z.number().int().min(1).max(MOST_FILTERS).nullable().catch(null),
  /** "frame.signal". */
  release: z.array(z.string()).catch([]),
});
export type CodeChoices = z.infer<typeof choicesSchema>;

const known = new WeakMap<object, CodeChoices>();
const USUAL: CodeChoices = choicesSchema.parse({});

export function codeChoices(dossier: Dossier): CodeChoices {
  const kept = dossier['code'];
  if (typeof kept !== 'object' || kept === null) return USUAL;
  const read = known.get(kept) ?? choicesSchema.safeParse(kept).data ?? USUAL;
  known.set(kept, read);
  return read;
}

export const useCodeChoices = (): CodeChoices => useDossier(({ dossier }) => codeChoices(dossier));

/** @param label what was done, for undo */
export function chooseCode(label: string, part: Partial<CodeChoices>, strand?: string): void {
  useDossier
    .getState()
    .change(label, (dossier) => ({ ...dossier, code: { ...codeChoices(dossier), ...part } }), strand);
}
