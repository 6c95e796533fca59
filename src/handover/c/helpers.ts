/** Small functions that generated C sources share, each written out only where it is used, and after those that it needs. */
import { CHECKSUM_HELPERS } from './helpers-checksums.ts';
import { NUMBER_HELPERS } from './helpers-numbers.ts';
import { RECEPTION_HELPERS } from './helpers-reception.ts';
import { SEQUENCE_HELPERS } from './helpers-sequences.ts';

const HELPERS = { ...NUMBER_HELPERS, ...CHECKSUM_HELPERS, ...RECEPTION_HELPERS, ...SEQUENCE_HELPERS } as const;

export type Helper = keyof typeof HELPERS;
export const HELPER_NAMES: readonly string[] = [
  ...Object.keys(HELPERS),
  ...['units', 'count_rule', 'steps', 'step_rule', 'open', 'out_of_order', 'came'],
];

const NEEDS: Partial<Record<Helper, readonly Helper[]>> = {
  crc: ['unit'],
  sum: ['unit'],
  xor: ['unit'],
  whole_between: ['divide'],
  begin: ['step_rules'],
  follow: ['late', 'step_rules'],
};

/** The helpers used, those they need first, with the prefix in their names. */
export function helperSource(used: ReadonlySet<Helper>, prefix: string): string {
  const wanted = new Set([...used].flatMap((helper) => [...(NEEDS[helper] ?? []), helper]));
  const inOrder = (Object.keys(HELPERS) as Helper[]).filter((helper) => wanted.has(helper));
  return inOrder
    .map((helper) => HELPERS[helper].replace(/\bP_/g, `${prefix}_`).replace(/\bM_/g, `${prefix.toUpperCase()}_`))
    .join('\n');
}
