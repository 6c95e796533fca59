/** What the pictures of Marks, Captures and the ruler draw, read from the draw list; and the run card as a machine. */
import { describe, expect, test } from 'vitest';
import { agreementScene } from '../../src/app/pictures/agreement-scene.ts';
import { labelSides, trackScene } from '../../src/app/pictures/marks.ts';
import { axisMost, movementWidth, threadsScene } from '../../src/app/pictures/overview.ts';
import { overviewScene, rulerScene } from '../../src/app/pictures/ruler.ts';
import {
  leftS,
  pause,
  press,
  resume,
  startRun,
  tick,
  wentWrong,
  type Run,
} from '../../src/app/places/marks/run/machine.ts';
import { turnsOf, USUAL_PLAN } from '../../src/app/places/marks/run/plan.ts';
import { choose, printChoice } from '../../src/app/places/captures/column-choice.ts';
import { hatchLines, hatchOf } from '../../src/kit/drawing/hatches.ts';
import { recordingSurface, type Drawn } from '../../src/kit/drawing/recording-surface.ts';
import type { Scene } from '../../src/kit/drawing/surface.ts';
import type { Palette } from '../../src/kit/drawing/palette.ts';
import { parsePlan } from '../../src/frames/columns/plan.ts';

const palette = new Proxy(
  { hatches: ['h1', 'h2', 'h3', 'h4', 'h5', 'h6'], groups: {}, standing: {} },
  {
    get: (known, name) => known[name as keyof typeof known] ?? String(name),
  },
) as unknown as Palette;

function draw(scene: Scene, width = 680, height = 100): Drawn[] {
  const { surface, drawn } = recordingSurface(width, height);
  scene(surface, palette);
  return drawn;
}
const only = (drawn: readonly Drawn[], what: Drawn['what']): (readonly unknown[])[] =>
  drawn.filter((call) => call.what === what).map((call) => call.with);

describe('tracks', () => {
  const window = { fromS: 0, toS: 100 };
  const mark = (startS: number, endS: number | null, value?: string): never =>
    ({ key: 'k', action: 'a', startS, endS, value }) as never;

  test('a span is the hatch of its action from start to end, an instant a line with a flag and its value', () => {
    const drawn = draw(trackScene([mark(10, 20), mark(50, null, 'D')], 4, window));
    expect(only(drawn, 'hatch')).toEqual([[68, 5, 68, 24, 4]]);
    expect(only(drawn, 'line')[0]?.slice(0, 4)).toEqual([340, 4, 340, 30]);
    expect(only(drawn, 'text').map(([, , words]) => words)).toEqual(['D']);
  });

  test('values of instants near each other stand on the side that has room, or nowhere', () => {
    const at = (x: number, words: string): { x: number; words: string } => ({ x, words });
    expect(labelSides([at(100, 'D')])).toEqual(['right']);
    expect(labelSides([at(100, 'on'), at(110, 'start')])).toEqual(['left', 'right']);
    expect(labelSides([at(100, 'D'), at(112, 'N'), at(124, 'R')])).toEqual(['left', 'none', 'right']);
    expect(labelSides([at(4, 'start'), at(14, 'off')])).toEqual(['none', 'right']);
  });

  test('marks outside the view draw nothing', () => {
    expect(draw(trackScene([mark(-30, -20), mark(140, null)], 0, window))).toEqual([]);
  });

  test('twelve actions have twelve constructions: no two the same angle, pitch and weight', () => {
    const seen = new Set(Array.from({ length: 12 }, (_, action) => JSON.stringify({ ...hatchOf(action), ink: 0 })));
    expect(seen.size).toBe(12);
  });

  test('upright hatch lines are as far apart as their pitch', () => {
    const lines = hatchLines(hatchOf(3), 0, 0, 50, 24);
    const xs = lines.filter((_, i) => i % 4 === 0);
    xs.slice(1).forEach((x, i) => expect(x - (xs[i] as number)).toBeCloseTo(5, 6));
  });
});

describe('ruler', () => {
  test('no figure stands within 34 px of the cursor, and the pin stands at it', () => {
    const drawn = draw(rulerScene({ window: { fromS: 0, toS: 60 }, cursorS: 20.5 }));
    const x = (20.5 / 60) * 680;
    for (const [at] of only(drawn, 'text')) expect(Math.abs((at as number) - x)).toBeGreaterThanOrEqual(34);
    expect((only(drawn, 'area').at(-1)?.[0] as number[])[2]).toBeCloseTo(x, 6);
  });

  const empty = { cursorS: null, load: null, steps: null, marks: [], actions: [], gaps: [], trim: null };
  test('brackets stand round the view only where it is not all', () => {
    const whole = { fromS: 0, toS: 100 };
    expect(only(draw(overviewScene({ ...empty, domain: whole, window: whole })), 'polyline')).toHaveLength(0);
    const part = draw(overviewScene({ ...empty, domain: whole, window: { fromS: 25, toS: 50 } }));
    expect(only(part, 'polyline').map(([points]) => (points as number[])[2])).toEqual([170, 340]);
  });

  test('a silence is a dotted field, never a zero', () => {
    const whole = { fromS: 0, toS: 100 };
    const drawn = draw(overviewScene({ ...empty, domain: whole, window: whole, gaps: [{ fromS: 50, toS: 60 }] }));
    expect(only(drawn, 'missing')[0]?.slice(0, 3)).toEqual([340, 4, 68]);
  });
});

describe('threads', () => {
  test('columns without frames are left bare, still ones are thin, moving ones thick', () => {
    const window = { fromS: 0, toS: 3, columns: 3 };
    const picture = {
      window,
      streams: [],
      frames: new Uint32Array([5, 0, 5]),
      movement: new Float32Array([0, NaN, 0.25]),
    };
    const drawn = draw(threadsScene([{ firstS: 0, lastS: 3, row: 0 }], picture as never, window), 300, 15);
    const rects = only(drawn, 'rect');
    expect(rects.map(([x]) => x)).toEqual([0, 200]);
    expect(rects[0]?.[3]).toBe(1);
    expect(rects[1]?.[3]).toBeCloseTo(9.2, 6);
  });

  test('thickness rises with movement and never passes one', () => {
    const widths = [0, 0.01, 0.05, 0.1, 0.25, 1].map(movementWidth);
    widths.slice(1).forEach((width, i) => expect(width).toBeGreaterThanOrEqual(widths[i] as number));
    expect(widths.at(-1)).toBe(1);
  });

  test('the axis of load has room for its peak', () => {
    for (const peak of [0.02, 0.3, 0.79, 0.99]) expect(axisMost(peak, 'load')).toBeGreaterThanOrEqual(peak);
    for (const peak of [3, 47, 812, 4100]) expect(axisMost(peak, 'frames-per-second')).toBeGreaterThanOrEqual(peak);
  });
});

test('the agreement picture holds its line at the offset that is held, and says its axis is not the ruler’s', () => {
  const clock = {
    offsetS: -2.8,
    seS: 0.1,
    from: 'found',
    chance: 3,
    words: '',
    curve: { offsetS: [-10, -5, 0, 5, 10], agreement: [1, 2, 9, 2, 1] },
  } as const;
  const drawn = draw(agreementScene(clock, -5), 401, 240);
  const held = only(drawn, 'line').find(([, , , , stroke]) => (stroke as { color: string }).color === 'accent');
  expect(held?.[0]).toBeCloseTo(100, 6);
  const words = only(drawn, 'text').map(([, , text]) => String(text));
  expect(words).toContain('−5.00 s');
  // The usual agreement is 2, so that the hill of 4 reaches a quarter of the way from it to 10.
  const twoHills = { ...clock, curve: { offsetS: [-10, -5, 0, 5, 10], agreement: [2, 4, 2, 10, 2] } };
  expect(only(draw(agreementScene(twoHills, 5), 401, 240), 'text').map(([, , text]) => text)).toContain(
    'runner-up −5.0 s, 25 %',
  );
});

describe('run card', () => {
  const plan = [
    { action: '', says: 'Touch nothing', holdS: 5, times: 1 },
    { action: 'brake', says: 'Press', holdS: 3, times: 2 },
    { action: 'lever', says: 'Move', holdS: 0, times: 1 },
  ];
  const turns = turnsOf(plan, 7);

  function playTo(run: Run, phase: Run['phase'], fromS: number): { run: Run; atS: number } {
    for (let atS = fromS; atS < fromS + 60; atS += 0.5) {
      if (run.phase === phase) return { run, atS };
      run = tick(run, atS);
    }
    throw new Error(`never came to ${phase}`);
  }

  test('rest, cue, hold, release; every turn writes its marks; nothing is written for doing nothing', () => {
    const events: unknown[] = [];
    let { run, atS } = playTo(startRun(plan, turns, 0), 'still', 0);
    expect(press(run, atS).event).toBeNull();
    for (let turn = 0; turn < 2; turn++) {
      ({ run, atS } = playTo(run, 'cue', atS));
      let step = press(run, atS);
      events.push(step.event);
      expect(leftS(step.run, atS)).toBe(3);
      step = press(step.run, atS + 3.2);
      events.push(step.event);
      run = step.run;
      atS += 3.2;
    }
    ({ run, atS } = playTo(run, 'cue', atS));
    const last = press(run, atS);
    expect([...events, last.event]).toEqual(['start-mark', 'end-mark', 'start-mark', 'end-mark', 'instant-mark']);
    expect(last.run.phase).toBe('done');
    expect(last.run.written).toEqual([0, 2, 1]);
  });

  test('a turn that went wrong is taken back and comes again', () => {
    const first = playTo(startRun(plan, turns, 0), 'cue', 0);
    const held = press(first.run, first.atS).run;
    const dropped = wentWrong({ ...held, lastMark: 'm1' }, first.atS + 1);
    expect(dropped.event).toBe('drop-mark');
    expect(dropped.run.at).toBe(held.at);
    const done = { ...press(held, first.atS + 3).run, lastMark: 'm1' };
    const again = wentWrong(done, first.atS + 4);
    expect(again.event).toBe('drop-mark');
    expect(again.run.at).toBe(held.at);
    expect(again.run.written).toEqual([0, 0, 0]);
  });

  test('while paused no time passes and no button writes', () => {
    const { run, atS } = playTo(startRun(plan, turns, 0), 'cue', 0);
    const holding = press(run, atS).run;
    const paused = pause(holding, atS + 1);
    expect(leftS(paused, atS + 50)).toBe(2);
    expect(press(paused, atS + 50).event).toBeNull();
    expect(leftS(resume(paused, atS + 50), atS + 50)).toBeCloseTo(2, 9);
  });

  test('pauses before an action differ; the same seed gives the same run', () => {
    const rests = turnsOf(USUAL_PLAN, 1)
      .filter((_, i) => USUAL_PLAN[turnsOf(USUAL_PLAN, 1)[i]?.step ?? 0]?.action)
      .map(({ restS }) => restS);
    expect(new Set(rests).size).toBeGreaterThan(3);
    expect(Math.min(...rests)).toBeGreaterThanOrEqual(4);
    expect(turnsOf(USUAL_PLAN, 1)).toEqual(turnsOf(USUAL_PLAN, 1));
  });
});

test('a choice of columns prints as the text that readers take; a role moves rather than doubles', () => {
  const first = choose(choose({}, 1, 'time seconds'), 2, 'id hex');
  const moved = choose(first, 3, 'id decimal');
  expect(moved).toEqual({ 1: 'time seconds', 3: 'id decimal' });
  const bytes = [5, 6, 7].reduce((choice, column) => choose(choice, column, 'bytes hex'), moved);
  const text = printChoice(choose(bytes, 4, 'bus'), 'semicolon', 1);
  const parsed = parsePlan(text);
  expect(parsed.ok).toBe(true);
  if (parsed.ok)
    expect(parsed.value).toMatchObject({
      delimiter: 'semicolon',
      skip: 1,
      time: { column: 0, form: 'seconds' },
      id: { column: 2, form: 'decimal' },
      bytes: { column: 4, count: 3, form: 'hex' },
      plain: { bus: 3 },
    });
});
