/** Letters that stay, names and moves of a dossier laid over a survey. Groups are written as text: "A: 1 2 3" on one bus. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { freeLetter, keepLetters, type FoundGroup, type KnownSender } from '../../src/timing/senders/keep-letters.ts';
import { disagreements, settleSenders, type SenderHand } from '../../src/timing/senders/settle-senders.ts';
import type { Survey, SurveyFrame } from '../../src/timing/types.ts';

const member = (text: string): FoundGroup['members'][number] => {
  const [bus, id] = text.includes('/') ? text.split('/') : ['can0', text];
  return { bus: bus as string, id: id as string, extended: false };
};
const groups = (...lines: readonly string[]): FoundGroup[] =>
  lines.map((line) => {
    const [group = '', members = ''] = line.split(':');
    return { group, members: members.trim().split(' ').filter(Boolean).map(member) };
  });
const known = (...lines: readonly string[]): KnownSender[] => groups(...lines).map((one) => ({ ...one, name: '' }));
const lettersOf = (found: readonly FoundGroup[], before: readonly KnownSender[]): string[] =>
  found.map(({ group }) => keepLetters(found, before).letters.get(group) ?? '?');

describe('letters', () => {
  it('are the finders own where nothing is known', () => {
    expect(lettersOf(groups('A: 1 2', 'B: 3 4'), [])).toEqual(['A', 'B']);
  });
  it('follow the identifiers, not the order', () => {
    expect(lettersOf(groups('A: 3 4 9', 'B: 1 2'), known('A: 1 2', 'B: 3 4'))).toEqual(['B', 'A']);
  });
  it('stay with the larger part of a group that split; the smaller gets a letter never used', () => {
    const before = known('A: 1 2 3 4 5', 'B:', 'C: 7 8');
    expect(lettersOf(groups('A: 4 5', 'B: 1 2 3', 'C: 7 8'), before)).toEqual(['D', 'A', 'C']);
  });
  it('keep the part that split off apart from then on, also when it comes first', () => {
    const whole = keepLetters(groups('A: 1 2 3 4 5'), []).known;
    const split = keepLetters(groups('A: 1 2', 'B: 3 4 5'), whole);
    expect(split.letters).toEqual(
      new Map([
        ['B', 'A'],
        ['A', 'B'],
      ]),
    );
    expect(lettersOf(groups('A: 1 2', 'B: 3 4 5'), split.known)).toEqual(['B', 'A']);
    expect(lettersOf(groups('A: 1 2 3 4 5'), split.known)).toEqual(['A']);
  });
  it('of two that merged the one that brings more stays, and neither is given to another', () => {
    const before = known('A: 1 2', 'B: 3 4 5');
    const merged = keepLetters(groups('A: 1 2 3 4 5', 'B: 8 9'), before);
    expect([...merged.letters]).toEqual([
      ['A', 'B'],
      ['B', 'C'],
    ]);
    // One capture that could not tell them apart does not make the other forget.
    expect(lettersOf(groups('A: 1 2', 'B: 3 4 5'), merged.known)).toEqual(['A', 'B']);
  });
  it('follow a bus that has another name, and two that are swapped', () => {
    const before = known('A: can0/1 can0/2', 'B: can1/3 can1/4', 'C: can1/5 can1/6');
    expect(lettersOf(groups('A: x/1 x/2', 'B: y/3 y/4', 'C: y/5 y/6'), before)).toEqual(['A', 'B', 'C']);
    const swapped = groups('A: can0/5 can0/6', 'B: can0/3 can0/4', 'C: can1/1 can1/2');
    expect(lettersOf(swapped, before)).toEqual(['C', 'B', 'A']);
  });
  it('do not follow an identifier onto a second bus while its own is there', () => {
    const before = known('A: can0/1 can0/2 can0/3');
    expect(lettersOf(groups('A: can1/1 can1/2', 'B: can0/1 can0/2 can0/3'), before)).toEqual(['B', 'A']);
  });
  it('settle at once: the same groups again change nothing (any groups, any order)', () => {
    const partition = fc
      .array(fc.tuple(fc.integer({ min: 0, max: 4 }), fc.integer({ min: 0, max: 1 })), { minLength: 1, maxLength: 14 })
      .map((places) => {
        const found = new Map<number, FoundGroup['members'][number][]>();
        places.forEach(([group, bus], id) =>
          found.set(group, [...(found.get(group) ?? []), member(`can${bus}/${id}`)]),
        );
        return [...found].map(([group, members]) => ({ group: String.fromCharCode(65 + group), members }));
      });
    fc.assert(
      fc.property(fc.array(partition, { minLength: 1, maxLength: 5 }), (captures) => {
        let before: readonly KnownSender[] = [];
        for (const found of captures) {
          const kept = keepLetters(found, before);
          const again = keepLetters(found, kept.known);
          expect(again.letters).toEqual(kept.letters);
          expect(again.known).toBe(kept.known);
          expect(new Set(kept.letters.values()).size).toBe(found.length);
          // Whatever was known by a letter, no letter is ever lost.
          expect(kept.known.map(({ group }) => group)).toEqual(
            expect.arrayContaining(before.map(({ group }) => group)),
          );
          before = kept.known;
        }
      }),
      { seed: 20_261_128, numRuns: 400 },
    );
  });
  it('free ones pass over those that are taken', () => expect(freeLetter(['A', 'C'])).toBe('B'));
});

const frame = (text: string, group: string | null, confidence: number | null = group ? 0.9 : null): SurveyFrame =>
  ({ ...member(text), direction: 'received', group, groupConfidence: confidence, groupWhy: 'figures' }) as SurveyFrame;

function survey(frames: readonly SurveyFrame[]): Survey {
  const letters = [...new Set(frames.flatMap(({ group }) => group ?? []))].sort();
  return {
    capture: {},
    buses: [],
    frames,
    groups: letters.map((group) => {
      const own = frames.filter((one) => one.group === group);
      return {
        group,
        ids: own.map(({ id }) => id),
        skewPpm: 1,
        members: own.map(({ bus, id, extended, groupConfidence }) => ({
          bus,
          id,
          extended,
          confidence: groupConfidence ?? 0,
        })),
        why: 'one clock',
      };
    }),
  } as unknown as Survey;
}
const hand = (part: Partial<SenderHand>): SenderHand => ({ senders: [], senderMoves: [], ...part });
const shown = ({ groups: all }: Survey): string[] =>
  all.map(({ group, name, ids }) => `${group}${name ? ` ${name}` : ''}: ${ids.join(' ')}`);

describe('a dossier over a survey', () => {
  const found = survey([frame('1', 'A'), frame('2', 'A'), frame('3', 'B'), frame('4', 'B'), frame('5', null)]);
  it('changes nothing where it knows nothing', () => expect(settleSenders(found, hand({}))).toEqual(found));
  it('puts names and kept letters in, in groups and frames alike', () => {
    const settled = settleSenders(
      found,
      hand({ senders: [{ ...(known('A: 3 4')[0] as KnownSender), name: ' pack ' }, ...known('B: 1 2')] }),
    );
    expect(shown(settled)).toEqual(['B: 1 2', 'A pack: 3 4']);
    expect(settled.frames.map(({ group }) => group)).toEqual(['B', 'B', 'A', 'A', null]);
  });
  it('moves by hand, keeps what timing said, and says where it disagrees', () => {
    const settled = settleSenders(
      found,
      hand({
        senderMoves: [
          { ...member('2'), group: 'B' },
          { ...member('5'), group: 'B' },
        ],
      }),
    );
    expect(shown(settled)).toEqual(['A: 1', 'B: 3 4 2 5']);
    expect(settled.frames[1]).toMatchObject({
      group: 'B',
      groupConfidence: 1,
      byHand: { timingGroup: 'A', timingConfidence: 0.9 },
    });
    expect(settled.frames[1]?.groupWhy).toMatch(
      /^Put into B by hand; timing disagrees: it says A with a confidence of 0\.90/,
    );
    expect(settled.frames[4]?.groupWhy).toMatch(/^Put into B by hand; timing cannot tell/);
    expect(settled.groups[1]?.why).toBe('one clock; 2 put here by hand');
    expect(settled.groups[0]?.why).toBe('one clock; 1 taken out by hand');
    expect(disagreements(settled)).toEqual([{ key: 'can0/2/false', id: '0x002', hand: 'B', timing: 'A' }]);
  });
  it('takes one out of every group, and makes a group that timing never saw', () => {
    const moves = [
      { ...member('1'), group: null },
      { ...member('2'), group: 'Q' },
      { ...member('5'), group: 'Q' },
    ];
    const settled = settleSenders(found, hand({ senderMoves: moves }));
    expect(shown(settled)).toEqual(['B: 3 4', 'Q: 2 5']);
    expect(settled.frames[0]).toMatchObject({ group: null, groupConfidence: null });
    expect(settled.groups[1]).toMatchObject({ skewPpm: null });
  });
  it('a move follows its identifier onto a bus that another capture calls otherwise', () => {
    const other = survey([frame('x/1', 'A'), frame('x/2', 'A'), frame('x/5', null)]);
    const settled = settleSenders(
      other,
      hand({ senders: known('B: 1 2'), senderMoves: [{ ...member('5'), group: 'B' }] }),
    );
    expect(shown(settled)).toEqual(['B: 1 2 5']);
  });
  it('never moves what the logger itself sent', () => {
    const sent = { ...frame('1', null), direction: 'sent' as const };
    const settled = settleSenders(survey([sent]), hand({ senderMoves: [{ ...member('1'), group: 'A' }] }));
    expect(settled.groups).toEqual([]);
  });
});
