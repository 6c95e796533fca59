/** Rows, choices and what is taken of a proof; what a recording lacks as a list. The verdicts' words are those of the command line's contract. */
import { describe, expect, it } from 'vitest';
import { conflictsOf, differencesOf, mergedBy, usualChoice, type Choices } from '../../src/app/places/proof/agree.ts';
import { takeMerged } from '../../src/app/places/proof/agree-take.ts';
import { choicesOf } from '../../src/app/places/proof/choices.ts';
import { cardParts, needTitle, sectionsOf, settledBy } from '../../src/app/places/proof/needs.ts';
import {
  countsOf,
  failedMoments,
  filtered,
  givenName,
  groupedRows,
  itemTitle,
  kindsOf,
  nextMoment,
  rowsOf,
} from '../../src/app/places/proof/rows.ts';
import { movedTo } from '../../src/app/shell/list-keys.ts';
import { mapWithTaken, proofToTake, takenProofs, withTaken, withTakenProof } from '../../src/app/stores/proofs.ts';
import { emptyDossier, type DossierCapture } from '../../src/jobs/dossier.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { mergeMaps } from '../../src/proof/merge/merge-maps.ts';
import type { ProofAspect, ProofItem, ProofReport } from '../../src/proof/hold/types.ts';
import type { Need, NeedKind, RunCardStep } from '../../src/proof/suffices/types.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

const signal = (name: string, part: Partial<MapSignal> = {}): MapSignal =>
  aSignal({
    name,
    lsb: { byte: 0, bit: 0 },
    length: 8,
    observed: { min: 0, max: 200 },
    standing: 'supported',
    confidence: 0.9,
    ...part,
  });

const frame = (bus: string, id: string, signals: MapSignal[]): MapFrame =>
  aFrame({ bus, id, name: `${bus}_${id.slice(2)}`, sender: { group: 'B', name: '', confidence: 0.9 }, signals });

const FILES = [{ name: 'a.log', bytes: 1, sha256: 'aa' }];
const MAP: SignalMap = aMap(
  [
    frame('can0', '0x120', [signal('level'), signal('speed', { unit: 'km/h', scale: 0.5 })]),
    frame('can1', '0x300', [signal('sign')]),
  ],
  { captures: [{ id: 'c1', title: 'first', files: FILES }] },
);

const place: ProofAspect = { aspect: 'place', verdict: 'holds', detail: '', figures: { changes: 500 } };
const values: ProofAspect = { aspect: 'values', verdict: 'holds', detail: '', figures: { covered: 0.9 } };
const item = (kind: ProofItem['item'], name: string, part: Partial<ProofItem> = {}): ProofItem => ({
  item: kind,
  name,
  verdict: 'holds',
  rate: 1,
  n: 100,
  detail: 'as before',
  moments: [],
  ...part,
});
const held = (name: string): ProofItem => item('signal', name, { aspects: [place, values] });
const REPORT: ProofReport = {
  frames: [
    {
      bus: 'can0',
      id: '0x120',
      extended: false,
      name: 'can0_120',
      verdict: 'holds',
      items: [item('presence', 'can0_120'), item('counter', 'alive'), held('level'), held('speed')],
    },
    {
      bus: 'can1',
      id: '0x300',
      extended: false,
      name: 'can1_300',
      verdict: 'fails',
      items: [
        item('presence', 'can1_300'),
        item('timing', 'can1_300', { verdict: 'not-exercised', rate: null }),
        item('signal', 'sign', { verdict: 'fails', moments: [7, 3, 3], aspects: [{ ...place, verdict: 'fails' }] }),
      ],
    },
  ],
  buses: { can0: 'can0', can1: 'can7' },
  warnings: [],
};

describe('rows of verdicts', () => {
  const rows = rowsOf(REPORT, MAP);
  it('have a column a kind, in the order in which a frame is looked at, and the worst verdict of each', () => {
    expect(kindsOf(REPORT)).toEqual(['presence', 'timing', 'counter', 'signal']);
    expect(rows.map(({ cells }) => cells)).toEqual([
      ['holds', null, 'holds', 'holds'],
      ['holds', 'not-exercised', null, 'fails'],
    ]);
  });
  it('give a kind that they do not know a column of its own', () => {
    const odd = { ...REPORT.frames[0], items: [item('echo' as ProofItem['item'], 'x')] } as ProofReport['frames'][0];
    expect(kindsOf({ frames: [odd] })).toEqual(['echo']);
  });
  it('name guards and what is the frame’s own, and ask the capture’s bus for its traces', () => {
    expect(rows[0]?.items.map(({ title }) => title)).toEqual(['presence', 'counter alive', 'level', 'speed']);
    expect(itemTitle('counter', 'counter_b6_bits0to3', 'can0_120')).toBe('counter_b6_bits0to3');
    expect(rows[1]?.stream?.bus).toBe('can7');
    expect(rows[0]?.group).toBe('B');
    expect(rows[0] && givenName(rows[0])).toBeNull();
  });
  it('put first what fails, then bus by bus; a filter leaves no other item in', () => {
    expect(groupedRows(rows).map(({ title }) => title)).toEqual(['something fails', 'can0']);
    expect(filtered(rows, 'fails').map(({ items }) => items.map(({ title }) => title))).toEqual([['sign']]);
    expect(filtered(rows, 'holds').length).toBe(2);
  });
  it('count what is not exercised as neither held nor failed', () => {
    expect(countsOf(REPORT.frames.flatMap(({ items }) => items))).toEqual({ holds: 5, fails: 1, untested: 1 });
  });
  it('lead from moment to moment and round again', () => {
    const moments = rows[1] ? failedMoments(rows[1]) : [];
    expect(moments).toEqual([3, 7]);
    expect([null, 3, 7].map((atS) => nextMoment(moments, atS, 1))).toEqual([3, 7, 3]);
    expect([null, 7, 3].map((atS) => nextMoment(moments, atS, -1))).toEqual([7, 3, 7]);
    expect(nextMoment([], 3, 1)).toBeNull();
  });
});

describe('walking through a list by keys', () => {
  it('begins at its first row, stops at its ends, and leaves other keys alone', () => {
    expect(movedTo('ArrowDown', -1, 3)).toBe(0);
    expect([movedTo('ArrowUp', 0, 3), movedTo('ArrowDown', 2, 3)]).toEqual([0, 2]);
    expect([movedTo('Home', 2, 3), movedTo('End', 0, 3)]).toEqual([0, 2]);
    expect([movedTo('Enter', 1, 3), movedTo('ArrowDown', -1, 0)]).toEqual([null, null]);
  });
});

describe('what a map may be held against', () => {
  const capture = (id: string, part: Partial<DossierCapture>): DossierCapture =>
    ({ id, title: id, role: '', files: [], marks: [], ...part }) as unknown as DossierCapture;
  const captures = [
    capture('c1', { files: FILES }),
    capture('c2', { files: [{ name: 'again.log', bytes: 1, sha256: 'aa' }] }),
    capture('c3', { files: [{ name: 'b.log', bytes: 1, sha256: 'bb' }] }),
    capture('c4', { role: 'inverter unplugged' }),
    capture('c5', {}),
    capture('c6', {}),
  ];
  const phases = new Map([
    ['c1', 'reading'],
    ['c5', 'missing'],
    ['c6', 'reading'],
  ] as const);
  const choices = choicesOf(captures, (id) => phases.get(id as 'c1') ?? 'ready', null, 'c1');
  it('is neither what it was made from nor the same file under another name', () => {
    expect(choices.map(({ refused }) => refused !== null)).toEqual([true, true, false, false, true, true]);
    expect(choices[0]?.refused).toContain('made from it');
    expect(choices[4]?.refused).toContain('hand it over again');
  });
  it('tells what only has to be read from what cannot be chosen', () => {
    expect(choices.filter(({ isComing }) => isComing).map(({ id }) => id)).toEqual(['c6']);
  });
  it('says what a capture without a module cannot judge', () => {
    expect(choices[3]?.note).toContain('a module was off');
    expect(choices[2]?.note).toBe('');
  });
});

describe('what another capture proved', () => {
  const capture = { id: 'c2', title: 'second drive', files: [] };
  const proof = proofToTake(MAP, REPORT, capture);
  const [level, speed] = MAP.frames[0]?.signals as [MapSignal, MapSignal];
  const [first, second] = MAP.frames as [MapFrame, MapFrame];
  it('is taken by the reading: proven, held but for a scale that nothing tested, refused', () => {
    expect(proof?.signals.map(({ became }) => became)).toEqual(['proven', 'held', 'refused']);
  });
  it('stands in the dossier in place of what the same capture told before, and undo has the old one', () => {
    if (!proof) throw new Error('nothing to take');
    const once = withTakenProof(emptyDossier(), proof);
    const twice = withTakenProof(once, { ...proof, signals: [] });
    expect(takenProofs(once)).toEqual([proof]);
    expect(takenProofs(twice).map(({ signals }) => signals.length)).toEqual([0]);
    expect(takenProofs(emptyDossier())).toEqual([]);
  });
  it('makes a signal proven by that capture, and is lost with the reading that was held', () => {
    if (!proof) throw new Error('nothing to take');
    const proved = withTaken(level, first, [proof]);
    expect(proved.standing).toBe('proven');
    expect(proved.evidence).toMatchObject([{ kind: 'proof', capture: 'c2', title: 'second drive' }]);
    expect(withTaken({ ...level, name: 'renamed' }, first, [proof]).standing).toBe('proven');
    expect(withTaken({ ...level, scale: 2 }, first, [proof])).toMatchObject({ standing: 'supported', evidence: [] });
    expect(withTaken(level, second, [proof]).evidence).toEqual([]);
    expect(withTaken(speed, first, [proof])).toMatchObject({ standing: 'supported', heldAgainst: [{ capture: 'c2' }] });
  });
  it('says nothing of a map that was made from that very capture', () => {
    if (!proof) throw new Error('nothing to take');
    expect(mapWithTaken(MAP, [proof]).captures.map(({ id }) => id)).toEqual(['c1', 'c2']);
    const made = { ...MAP, captures: [{ id: 'c2', title: '', files: [] }] };
    expect(mapWithTaken(made, [proof])).toBe(made);
  });
  it('is not taken away by another capture that could not test it, but one that refuses it does', () => {
    if (!proof) throw new Error('nothing to take');
    const refusal = {
      capture: { ...capture, id: 'c3' },
      signals: proof.signals.slice(0, 1).map((one) => ({ ...one, became: 'refused' as const })),
    };
    expect(withTaken(level, first, [proof, { ...refusal, signals: [] }]).standing).toBe('proven');
    expect(withTaken(level, first, [proof, refusal]).standing).toBe('supported');
  });
});

describe('two people’s maps', () => {
  const counter = (max: number): MapFrame['counters'][0] => ({
    name: 'alive',
    lsb: { byte: 6, bit: 0 },
    length: 4,
    order: 'little',
    step: 1,
    every: 1,
    min: 0,
    max,
    when: null,
    confidence: 0.9,
  });
  const withFrame = (part: Partial<MapFrame>): SignalMap => ({
    ...MAP,
    frames: [{ ...(MAP.frames[0] as MapFrame), ...part }, MAP.frames[1] as MapFrame],
  });
  const blank = signal('b2', { lsb: { byte: 2, bit: 0 }, standing: 'guess' });
  const speed = signal('speed', { lsb: { byte: 3, bit: 0 }, unit: 'km/h', scale: 0.5 });
  const mine = withFrame({ signals: [blank, speed], counters: [counter(14)] });
  const theirs: SignalMap = {
    ...withFrame({
      name: 'pedals',
      signals: [
        { ...blank, name: 'pedal', unit: '%', scale: 0.4, standing: 'supported' },
        { ...speed, unit: 'mph', scale: 0.31 },
      ],
      counters: [counter(15)],
    }),
    captures: [{ id: 'c1', title: 'theirs', files: [{ name: 't.log', bytes: 1, sha256: 'tt' }] }],
  };
  const base = mergeMaps(mine, theirs);
  const conflicts = conflictsOf(base);
  const keyOf = (kind: string): string => conflicts.find(({ item: { item } }) => item === kind)?.key ?? '';
  const inForce = (choices: Choices): MapFrame => mergedBy(mine, theirs, base, choices).map.frames[0] as MapFrame;

  it('leave open what neither a hand nor standing decides, side by side', () => {
    expect(conflicts.map(({ item: { item, name } }) => `${item} ${name}`).sort()).toEqual([
      'counter alive',
      'signal speed',
    ]);
    expect(conflicts.map(usualChoice)).toEqual(['open', 'open']);
    const rule = conflicts.find(({ item: { item } }) => item === 'counter')?.item;
    expect(differencesOf(rule?.first, rule?.second)).toEqual([{ name: 'max', first: '14', second: '15' }]);
    expect(inForce({}).signals.find(({ name }) => name === 'speed')).toMatchObject({ standing: 'guess' });
  });
  it('are told as a person writes bytes and bits, not as a file does', () => {
    const differing = differencesOf(
      { prefix: ['0xA0'], undetermined: [{ byte: 4, bit: 2 }] },
      { prefix: ['0xA0', '0x1'], undetermined: [] },
    );
    expect(differing).toEqual([
      { name: 'prefix', first: '0xA0', second: '0xA0 0x1' },
      { name: 'undetermined', first: 'b4.2', second: 'none' },
    ]);
  });
  it('are merged as chosen, and the version that is not in force is set aside', () => {
    const second = inForce({ [keyOf('signal')]: 'second', [keyOf('counter')]: 'second' });
    expect(second.signals.find(({ name }) => name === 'speed')).toMatchObject({ unit: 'mph', standing: 'supported' });
    expect(second.counters[0]?.max).toBe(15);
    expect(JSON.stringify(second['setAside'])).toContain('km/h');
    const first = inForce({ [keyOf('signal')]: 'first', [keyOf('counter')]: 'first' });
    expect(first.signals.find(({ name }) => name === 'speed')?.unit).toBe('km/h');
    expect(first.counters[0]?.max).toBe(14);
  });
  it('bring into the dossier what the other understood and what was chosen, and nothing that the map has already', () => {
    const choices: Choices = { [keyOf('signal')]: 'first', [keyOf('counter')]: 'second' };
    const final = mergedBy(mine, theirs, base, choices);
    const taken = takeMerged(emptyDossier(), mine, base, final, choices);
    expect(taken.dossier.signals.map(({ signal: { name, unit } }) => `${name} ${unit}`)).toEqual(['pedal %']);
    expect(taken.dossier.frameNames).toMatchObject([{ id: '0x120', name: 'pedals' }]);
    expect(taken.dossier.decisions).toMatchObject([{ kind: 'rule', counter: { max: 15 } }]);
    expect([taken.signals, taken.names, taken.rules, taken.elsewhere]).toEqual([1, 1, 1, 0]);
  });
  it('set aside a person’s own signal that lies in the way, and count identifiers that the recording lacks', () => {
    const choices: Choices = { [keyOf('signal')]: 'second' };
    const final = mergedBy(mine, theirs, base, choices);
    const own = { bus: 'can0', id: '0x120', extended: false, signal: speed };
    const short = { ...mine, frames: mine.frames.slice(0, 1) };
    const taken = takeMerged({ ...emptyDossier(), signals: [own] }, short, base, final, choices);
    expect(taken.dossier.signals.map(({ signal: { name, unit } }) => `${name} ${unit}`).sort()).toEqual([
      'pedal %',
      'speed mph',
    ]);
    expect(taken.dossier['setAside']).toEqual([own]);
    expect(taken.elsewhere).toBe(1);
  });
});

describe('what a recording lacks', () => {
  const need = (what: NeedKind, about: string, part: Partial<Need> = {}): Need => ({
    key: `${what} ${about}`,
    what,
    about,
    verdict: 'short',
    figures: {},
    says: '',
    ...part,
  });
  const guards = [1, 2, 3, 4].map((n) => need('guard', `can0 0x${n}`, { verdict: 'cannot-tell', bits: [n, n + 8] }));
  it('stands by verdict, the many guards with the same lack as one row', () => {
    const sections = sectionsOf({ needs: [need('repetitions', 'door opened'), ...guards] });
    expect(sections.map(({ verdict, rows }) => [verdict, rows.map(({ title }) => title)])).toEqual([
      ['short', ['door opened, often enough']],
      ['cannot-tell', ['4 guards']],
    ]);
    expect(sections[1]?.rows[0]?.says).toContain('8 bits');
    expect(needTitle(need('mode', 'driving'))).toBe('the mode driving');
  });
  it('is told of a recording by what that settles', () => {
    const needs = [
      need('repetitions', 'door opened'),
      need('repetitions', 'key turned'),
      need('frames-lost', ''),
      ...guards,
    ];
    const settled = settledBy({ settles: needs.map(({ key }) => key) }, needs);
    expect(settled.map(({ kind, about }) => `${kind}: ${about}`)).toEqual([
      'often enough: door opened, key turned',
      'also: frames lost',
      'perhaps: 4 guards: it moves what never moved',
    ]);
  });
  it('loses no step of a run card by telling rounds once', () => {
    const step = (says: string): RunCardStep => ({ action: says, says, holdS: 0, times: 1 });
    const card = ['wait', 'on', 'off', 'on', 'off', 'on', 'off', 'end'].map(step);
    const parts = cardParts(card);
    expect(parts).toEqual([
      { times: 1, lines: ['wait'] },
      { times: 3, lines: ['on', 'off'] },
      { times: 1, lines: ['end'] },
    ]);
    expect(parts.reduce((sum, { times, lines }) => sum + times * lines.length, 0)).toBe(card.length);
  });
});
