/** Whether a recording suffices, on recordings told by hand: what is short is named, what the next card asks for settles it, donors that cannot drive are asked for no drive. */
import { describe, expect, it } from 'vitest';
import type { Mark } from '../../src/actions/types.ts';
import type { FrameFindings } from '../../src/fields/types.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { formatId } from '../../src/kit/units.ts';
import { accepts } from '../../src/proof/suffices/logger-trial.ts';
import { whatSuffices } from '../../src/proof/suffices/suffices.ts';
import type { Need, SufficesInput, Sufficiency } from '../../src/proof/suffices/types.ts';
import type { SurveyFrame } from '../../src/timing/types.ts';

const END_S = 300;
const table: FrameTable = {
  streams: [],
  buses: ['can0'],
  origin: { kind: 'epoch', text: '1773043272' },
  endUs: END_S * 1e6,
  frameCount: 0,
  files: [],
  remotes: [],
  errors: [],
} as unknown as FrameTable;

const lost = { frames: 0, inPauses: 0, counters: 5, counted: 9000, untold: 0, leftOut: 0, restarts: 0, byTicks: 0 };

function surveyWith(modes: readonly (readonly [string, number, number])[], lostFrames = 0): SufficesInput['survey'] {
  return {
    capture: {
      frames: 10_000,
      rejected: 0,
      clock: { lost: { ...lost, frames: lostFrames, gridded: 9, inAll: null }, pauses: [] },
    },
    frames: [],
    groups: [],
    modes: modes.map(([mode, fromS, toS]) => ({ mode, fromS, toS, why: '' })),
  } as unknown as SufficesInput['survey'];
}

const WHOLE = [
  ['waking', 0, 2],
  ['on', 2, 20],
  ['ready', 20, 40],
  ['driving', 40, 200],
  ['charging', 210, 290],
  ['shutting down', 290, 300],
] as const;

const spans = (action: string, times: number, fromS = 20, everyS = 17): Mark[] =>
  Array.from({ length: times }, (_, at) => ({
    action,
    startS: fromS + at * everyS + (at % 3),
    endS: fromS + at * everyS + 2 + (at % 3),
  }));

const heardFrame = (bus: string, id: number): SurveyFrame =>
  ({
    bus,
    id: formatId(id),
    extended: false,
    direction: 'received',
    length: 8,
    medianIntervalMs: 10,
    timing: { kind: 'periodic' },
    firstS: 0,
    distinctPayloads: 900,
    group: null,
  }) as unknown as SurveyFrame;

/** Nothing found in it, and so many of its bits moved. */
const findingOf = (id: number, moved: number): FrameFindings =>
  ({
    bus: 'can0',
    id: formatId(id),
    extended: false,
    length: 8,
    bits: { changeShare: Array.from({ length: 64 }, (_, bit) => Number(bit < moved)) },
    fields: [],
    counters: [],
    checksums: [],
    selectors: [],
  }) as unknown as FrameFindings;

const ask = (input: Partial<SufficesInput>): Sufficiency =>
  whatSuffices({ table, survey: surveyWith(WHOLE), findings: null, marks: [], links: null, ...input });

const needOf = ({ needs }: Sufficiency, key: string): Need => {
  const need = needs.find((each) => each.key === key);
  if (!need) throw new Error(`no need ${key} among ${needs.map((each) => each.key).join(', ')}`);
  return need;
};

const cardFor = ({ next }: Sufficiency, key: string) => next.find(({ settles }) => settles.includes(key))?.card ?? [];

describe('whether a recording suffices', () => {
  it('misses the shut-down, and asks for one from sleep to sleep', () => {
    const answer = ask({ survey: surveyWith(WHOLE.slice(0, 4)), marks: spans('brake pressed', 6) });
    expect(needOf(answer, 'shut-down').verdict).toBe('short');
    expect(needOf(answer, 'wake').verdict).toBe('enough');
    const card = cardFor(answer, 'shut-down');
    // Off, silence, and on again: silence behind the last frame would leave no trace.
    expect(card.slice(-4).map(({ value }) => value)).toEqual(['off', undefined, 'on', undefined]);
  });

  it('does not call a shut-down missing that may have been cut off with the logger', () => {
    const marks: Mark[] = [{ action: 'key turned', startS: 290, endS: null, value: 'off' }];
    expect(needOf(ask({ survey: surveyWith(WHOLE.slice(0, 4)), marks }), 'shut-down').verdict).toBe('cannot-tell');
  });

  it('names an action that was done twice, and has it done six times by the card', () => {
    const answer = ask({ marks: [...spans('brake pressed', 8), ...spans('heater on', 2, 100, 60)] });
    expect(needOf(answer, 'repetitions heater on')).toMatchObject({ verdict: 'short', figures: { times: 2 } });
    expect(needOf(answer, 'repetitions brake pressed').verdict).toBe('cannot-tell');
    expect(cardFor(answer, 'repetitions heater on').filter(({ action }) => action === 'heater on')).toEqual([
      expect.objectContaining({ times: 6 }),
    ]);
  });

  it('counts no mark that lies behind the end of a recording that still grows', () => {
    const marks = [...spans('brake pressed', 4, 20), ...spans('brake pressed', 6, END_S + 5)];
    expect(needOf(ask({ marks }), 'repetitions brake pressed').figures['times']).toBe(4);
  });

  it('names two actions that were always done together, once, and has each done without the other', () => {
    const doors = spans('door opened', 7, 20, 31);
    const lamps = doors.map((mark) => ({ ...mark, action: 'lamp on', startS: mark.startS + 0.5 }));
    const answer = ask({ marks: [...doors, ...lamps] });
    const apart = answer.needs.filter(({ what }) => what === 'apart');
    expect(apart.map(({ key, verdict }) => [key, verdict])).toEqual([['apart door opened / lamp on', 'short']]);
    const card = cardFor(answer, 'apart door opened / lamp on');
    expect(card.find(({ action }) => action === 'door opened')?.says).toContain('leave "lamp on" out');
    expect(card.find(({ action }) => action === 'lamp on')?.says).toContain('leave "door opened" out');
  });

  it('names frames lost and says what to change at the logger', () => {
    const answer = ask({ survey: surveyWith(WHOLE, 100), marks: spans('brake pressed', 8) });
    expect(needOf(answer, 'frames-lost').verdict).toBe('short');
    expect(needOf(ask({}), 'frames-lost').verdict).toBe('enough');
    expect(answer.next.find(({ settles }) => settles.includes('frames-lost'))?.logger).toContain('lost frames');
  });

  it('asks donors that cannot drive for no drive and no charge', () => {
    const survey = surveyWith(WHOLE.slice(0, 2));
    const marks = spans('brake pressed', 8);
    const askedOf = (donor: SufficesInput['donor']): string[] =>
      ask({ survey, marks, ...(donor ? { donor } : {}) }).next.map(({ title }) => title);
    expect(ask({ survey, marks, donor: 'key-on' }).needs.filter(({ what }) => what === 'mode')).toHaveLength(1);
    expect(ask({ survey, marks, donor: 'bench' }).needs.filter(({ what }) => what === 'mode')).toHaveLength(0);
    expect(askedOf('key-on')).toEqual(['Standing, from sleep to sleep']);
    expect(askedOf('bench')).toEqual(['On the bench, supply on to supply off']);
  });

  it('has a slow logger hear one bus at a time, or half of one, before anything else is recorded', () => {
    const heard = (buses: readonly string[]): SufficesInput['survey'] => ({
      ...surveyWith(WHOLE, 100),
      frames: buses.flatMap((bus) => [0x100, 0x101, 0x200, 0x201].map((id) => heardFrame(bus, id))),
    });
    const trialsOf = (survey: SufficesInput['survey']) =>
      ask({ survey, marks: spans('brake pressed', 8) }).next.filter(({ settles }) => settles.includes('frames-lost'));
    const first = ask({ survey: heard(['can0', 'can1']), marks: spans('brake pressed', 8) }).next[0];
    expect(first?.settles).toEqual(['frames-lost']);
    expect(trialsOf(heard(['can0', 'can1'])).map(({ hears }) => hears?.map(({ bus }) => bus))).toEqual([
      ['can0'],
      ['can1'],
    ]);
    const halves = trialsOf(heard(['can0'])).map(({ hears = [] }) =>
      [0x100, 0x101, 0x200, 0x201].filter((id) => hears.some((filter) => accepts(filter, heardFrame('can0', id)))),
    );
    expect(halves.map(({ length }) => length)).toEqual([2, 2]);
    expect(halves.flat().sort()).toEqual([0x100, 0x101, 0x200, 0x201].sort());
  });

  it('asks for another logger where the logger paused: hearing less does not help', () => {
    const survey = surveyWith(WHOLE, 100);
    const pauses = [{ bus: 'can0', fromS: 50, toS: 52, who: 'logger', lost: 9, counters: 3 }];
    const clock = { ...survey.capture.clock, pauses } as unknown as typeof survey.capture.clock;
    const paused = { ...survey, capture: { ...survey.capture, clock }, frames: [heardFrame('can0', 1)] };
    const [trial] = ask({ survey: paused, marks: spans('brake pressed', 8) }).next;
    expect([trial?.title, trial?.hears]).toEqual(['Trial of another logger', undefined]);
  });

  it('says what a donor that cannot drive never shows, but for what it showed after all', () => {
    const told = (survey: SufficesInput['survey'], donor: 'drive' | 'key-on' | 'bench'): string[] =>
      ask({ survey, donor }).beyond.map(({ about }) => about);
    const standing = surveyWith(WHOLE.slice(0, 2));
    expect(told(standing, 'drive')).toEqual([]);
    expect(told(standing, 'key-on')).toEqual(['ready', 'driving', 'charging']);
    expect(told(surveyWith(WHOLE.slice(0, 3)), 'key-on')).toEqual(['driving', 'charging']);
    expect(told(standing, 'bench')).toEqual(['partners', 'ready', 'driving', 'charging']);
  });

  it('takes a wake for seen where it was turned on with the first frames and others began after them', () => {
    const modes = [['on', 0, 100]] as const;
    const on: Mark[] = [{ action: 'key turned', startS: 0.3, endS: null, value: 'on' }];
    const late = [0.2, 0.3, 0.4].map((firstS, at) => ({ ...heardFrame('can0', 0x100 + at), firstS }));
    const verdictOf = (input: Partial<SufficesInput>) =>
      needOf(ask({ survey: surveyWith(modes), ...input }), 'wake').verdict;
    expect(verdictOf({})).toBe('short');
    expect(verdictOf({ marks: on })).toBe('cannot-tell');
    expect(verdictOf({ marks: on, survey: { ...surveyWith(modes), frames: late } })).toBe('enough');
    // Without anybody turning it on, frames that begin late are no wake.
    expect(verdictOf({ survey: { ...surveyWith(modes), frames: late } })).toBe('short');
  });

  it('says of identifiers that hardly moved that no guard of theirs can be known', () => {
    const findings = [1, 40].map((moved, at) => findingOf(0x100 + at, moved));
    const frames = findings.map(({ bus, id }) => heardFrame(bus, Number(id)));
    const need = needOf(ask({ findings, survey: { ...surveyWith(WHOLE), frames } }), 'guard rested');
    expect([need.verdict, need.identifiers?.map(({ id }) => id)]).toEqual(['cannot-tell', ['0x100']]);
  });
});
