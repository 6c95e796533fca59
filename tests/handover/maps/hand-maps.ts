/** All maps made by hand. */
import { LOGBOOK, SPLIT, TABLES, UNALIGNED } from './hand-fields.ts';
import { BY_COUNTER, NESTED, PUBLISHED, RULES, WIDE } from './hand-guards.ts';
import type { HandMap } from './hand-map.ts';

export const HAND_MAPS: readonly HandMap[] = [
  UNALIGNED,
  LOGBOOK,
  TABLES,
  SPLIT,
  BY_COUNTER,
  NESTED,
  RULES,
  PUBLISHED,
  WIDE,
];
