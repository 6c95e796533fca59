/** Whether a recording suffices, on recordings told by hand: what is short is named, what the next card asks for settles it, donors that cannot drive are asked for no drive. */
import { describe, expect, it } from 'vitest';
import type { Mark } from '../../src/actions/types.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { whatSuffices } from '../../src/proof/suffices/suffices.ts';
import type { Need, SufficesInput, Sufficiency } from '../../src/proof/suffices/types.ts';

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
    expect(card.at(-2)?.value).toBe('off');
    expect(card.at(-1)).toMatchObject({ action: '', times: 1 });
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
});
