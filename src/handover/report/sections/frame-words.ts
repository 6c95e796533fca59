/** What a frame is to the part, and whether that was tried, in words. */
import type { MapFrame } from '../../../map/schema.ts';
import { fullCell, type Cell } from '../document.ts';

export const ROLES: Readonly<Record<MapFrame['role'], string>> = {
  'sent-by-part': 'sent by the part',
  'needed-by-part': 'needed by the part',
  other: 'of others',
  unknown: 'not known',
};

export const needCell = ({ need }: MapFrame): Cell => ({
  ...fullCell(
    need.verdict === 'untested' || !need.how
      ? need.verdict.replace('-', ' ')
      : `${need.verdict.replace('-', ' ')}: ${need.how.replaceAll('-', ' ')}`,
  ),
  mark: need.verdict,
});
