/** What a frame is to the part, and whether that was tried, in words. */
import type { MapFrame } from '../../../map/schema.ts';
import { fullCell, type Cell } from '../document.ts';

export const ROLES: Readonly<Record<MapFrame['role'], string>> = {
  'sent-by-part': 'sent by the part',
  'needed-by-part': 'needed by the part',
  other: 'of others',
  unknown: 'not known',
};

/** Whether the part needs it; nothing where the part sends it itself, as that is no question then. */
export function needCell({ need, role }: MapFrame): Cell {
  if (role === 'sent-by-part' && need.verdict === 'untested') return '';
  const verdict = need.verdict.replace('-', ' ');
  const words = need.verdict === 'untested' || !need.how ? verdict : `${verdict}: ${need.how.replaceAll('-', ' ')}`;
  return { ...fullCell(words), mark: need.verdict };
}
