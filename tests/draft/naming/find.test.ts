/** Candidate meanings: what speaks for each, what speaks against it, and that nothing is said where nothing speaks. On fields made by hand. */
import { describe, expect, it } from 'vitest';
import type { LinkReport } from '../../../src/actions/types.ts';
import { findMeaning } from '../../../src/draft/meaning.ts';
import type { FieldNaming } from '../../../src/draft/naming/types.ts';
import { field, motor } from '../roles/motor.ts';
import { hexOf, send, type SentField } from '../roles/two-senders.ts';

const fields: SentField[] = [
  ...motor,
  field(0x600, 'E', 500, (timeS) => 100 + Math.floor(timeS)),
  { ...field(0x700, 'F', 50, (timeS) => Number(Math.sin(timeS) > 0.3)), kind: 'flag' },
];
const link = { bus: 'can0', id: hexOf(0x700), extended: false, field: `f${hexOf(0x700)}`, q: 0.001 };
const links = { actions: [{ action: 'horn', links: [link] }] } as unknown as LinkReport;
const { naming, roles } = await findMeaning({ ...send(fields), links, seed: 1 }, {});
const named = (id: number): FieldNaming => naming.fields.find((one) => one.id === hexOf(id)) as FieldNaming;
const first = (id: number): string | undefined => named(id).candidates[0]?.meaning;

describe('nameFields', () => {
  it('tells torque, its command and the speed that they make by roles and laws', () => {
    expect(first(0x100)).toBe('command of a torque');
    expect(first(0x200)).toBe('torque as given');
    expect(first(0x210)).toBe('vehicle or motor speed');
    expect(first(0x300)).toBe('vehicle or motor speed');
  });

  it('tells a counter by its one way, and a switch by the action that it answers first', () => {
    expect(first(0x600)).toBe('counter of time, distance or energy');
    expect(first(0x700)).toBe('switch');
    expect(named(0x700).why).toContain('"horn"');
  });

  it('says that nothing fits what only wanders', () => {
    expect(named(0x500).candidates).toEqual([]);
    expect(named(0x500).why).toContain('nothing that is looked for fits');
  });

  it('gives reasons with each, and shares that do not add up to more than one', () => {
    for (const { candidates } of naming.fields) {
      expect(candidates.reduce((sum, { share }) => sum + share, 0)).toBeLessThanOrEqual(1);
      expect(candidates.every(({ reasons }) => reasons.length > 0)).toBe(true);
      expect(candidates.every(({ share }, k) => k === 0 || share <= (candidates[k - 1]?.share ?? 0))).toBe(true);
    }
  });

  it('is asked of every field that changes', () => {
    expect(naming.fields).toHaveLength(roles.roles.length);
  });
});
