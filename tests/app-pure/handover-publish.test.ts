/** What the publishing copy shows of a number, and what becomes of it. The numbers are invented. */
import { describe, expect, it } from 'vitest';
import { textsOf } from '../../src/app/places/handover/publish/asking.ts';
import { findRows, isBlanked, masked, stillFound, toggled } from '../../src/app/places/handover/publish/finds.ts';
import type { Find } from '../../src/handover/publish/types.ts';
import { emptyDossier } from '../../src/jobs/dossier.ts';

const find = (key: string, part: Partial<Find> = {}): Find => ({
  key,
  kind: 'serial-number',
  secret: 'KQ2714093386',
  confidence: 0.98,
  evidenceBits: 40,
  why: 'the same twelve characters in every frame',
  occurrences: [],
  usual: true,
  ...part,
});
const NONE = { keep: [], also: [] };

describe('a number on the page', () => {
  it('is masked but for two letters at its end, and whole where it is short', () => {
    expect(masked('KQ2714093386')).toBe('••••••••••86');
    expect(masked('K27140')).toBe('••••••');
    expect(masked('')).toBe('a value');
    expect(masked('1'.repeat(40))).toHaveLength(17);
  });

  it('is never part of what is told of its place', () => {
    const [row] = findRows([find('serial-number-1')], NONE);
    expect(JSON.stringify(row?.listed)).not.toContain('KQ27');
    expect(row?.masked).not.toContain('KQ27');
  });
});

describe('what becomes of a find', () => {
  const usual = find('serial-number-1');
  const offered = find('position-1', { kind: 'position', usual: false });
  const all = [usual, offered];

  it('is that it is blanked where that is usual, and not where it is only offered', () => {
    expect(isBlanked(usual, NONE)).toBe(true);
    expect(isBlanked(offered, NONE)).toBe(false);
  });

  it('can be turned round, and back', () => {
    const kept = toggled(usual, NONE, all);
    expect(kept).toEqual({ keep: ['serial-number-1'], also: [] });
    expect(isBlanked(usual, kept)).toBe(false);
    expect(toggled(usual, kept, all)).toEqual(NONE);
    const asked = toggled(offered, NONE, all);
    expect(asked).toEqual({ keep: [], also: ['position-1'] });
    expect(toggled(offered, asked, all)).toEqual(NONE);
  });

  it('is forgotten with a find that another search does not have', () => {
    expect(stillFound({ keep: ['serial-number-1', 'serial-number-9'], also: ['position-1'] }, all)).toEqual({
      keep: ['serial-number-1'],
      also: ['position-1'],
    });
  });
});

it('texts beside the frames are searched too: names of files, marks and readings of that capture alone', () => {
  const capture = {
    id: 'c1',
    title: 'yard',
    role: '',
    files: [{ name: 'KQ27.log', bytes: 1, sha256: '' }],
    columns: {},
    trim: null,
    marks: [{ key: 'm1', action: 'brake', startS: 1, endS: null, note: 'seen by the plate' }],
    markTimeBase: 'capture' as const,
    markOffset: 'auto' as const,
    references: [],
  };
  const other = { ...capture, id: 'c2', title: 'road' };
  const texts = textsOf({ ...emptyDossier(), captures: [capture, other] }, 'c1');
  expect(texts).toEqual(expect.arrayContaining(['yard', 'KQ27.log', 'brake', 'seen by the plate']));
  expect(texts).not.toContain('road');
});
