/**
 * Network management on buses made here: a ring (OSEK/VDX network management, now ISO 17356-5, from memory), nodes that keep a network awake
 * (AUTOSAR network management for CAN, from memory), and traffic that resembles both and is neither.
 */
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { SurveyFrame } from '../../src/timing/types.ts';
import { tableOfFrames } from './two-loggers.ts';

interface Row {
  readonly id: number;
  readonly timeUs: number;
  readonly payload: Uint8Array;
}
type Payload = (tick: number, timeS: number) => readonly number[];

function sends(id: number, periodS: number, fromS: number, toS: number, payload: Payload): Row[] {
  const random = createRandom(`network/${id}/${fromS}`);
  const phase = random.next() * periodS;
  return Array.from({ length: Math.floor((toS - fromS) / periodS) }, (_, tick) => {
    const timeS = fromS + phase + tick * periodS - Math.log(1 - random.next()) * 1e-4;
    return { id, timeUs: Math.round(timeS * 1e6), payload: Uint8Array.from(payload(tick, timeS)) };
  });
}

function background(fromS: number, toS: number): Row[] {
  const random = createRandom('background');
  return [0.01, 0.02, 0.05, 0.1].flatMap((period, i) =>
    sends(0x100 + 16 * i, period, fromS, toS, () => [random.below(256), random.below(256), 3, 4]),
  );
}

function survey(rows: readonly Row[]): readonly SurveyFrame[] {
  const sorted = [...rows].sort((a, b) => a.timeUs - b.timeUs);
  return surveyTable(tableOfFrames([{ name: 'can0', rows: sorted }]), {}).frames;
}

const roles = (frames: readonly SurveyFrame[]): string[] =>
  frames.flatMap(({ id, network }) => (network ? [`${id} ${network.kind} ${network.node}`] : []));

/** Nodes pass a token every 100 ms; `out` is there for the first 20 s only. */
function ring(nodes: readonly number[], durationS: number, out = -1): Row[] {
  const random = createRandom('ring');
  const rows: Row[] = [];
  let at = 0;
  for (let timeS = 0; timeS < durationS; timeS += 0.1 + 0.002 * random.next()) {
    const present = nodes.filter((node) => node !== out || timeS < 20);
    const node = present[at % present.length] as number;
    const next = present[(present.indexOf(node) + 1) % present.length] as number;
    rows.push({ id: 0x500 + node, timeUs: Math.round(timeS * 1e6), payload: Uint8Array.of(next, 0x02, 0, 0) });
    at = present.indexOf(next);
  }
  return rows;
}

describe('a ring', () => {
  it('is recognised with its nodes, whom each names, and that replay will not do', () => {
    const frames = survey([...background(0, 60), ...ring([3, 7, 8, 21], 60)]);
    expect(roles(frames)).toEqual(['0x503 ring 3', '0x507 ring 7', '0x508 ring 8', '0x515 ring 21']);
    const [first] = frames.filter(({ network }) => network);
    expect(first?.network?.successors).toEqual([7]);
    expect(first?.network?.why).toContain('Replay will not do: answers must be generated');
  });

  it('shows other successors where a node vanishes', () => {
    const frames = survey([...background(0, 60), ...ring([3, 7, 8, 21], 60, 7)]);
    expect(frames.find(({ id }) => id === '0x503')?.network?.successors).toEqual([8, 7]);
  });

  it('is not seen in frames that go round and bear their own number', () => {
    const rows: Row[] = [];
    for (let i = 0; i < 600; i++) {
      const node = i % 6;
      rows.push({ id: 0x500 + node, timeUs: 100_000 * i, payload: Uint8Array.of(node, 2, 0, 0) });
    }
    expect(roles(survey([...background(0, 60), ...rows]))).toEqual([]);
  });

  it('is not seen in two identifiers that answer each other', () => {
    expect(roles(survey([...background(0, 60), ...ring([3, 7], 60)]))).toEqual([]);
  });
});

/** Sent from waking until shortly before the bus sleeps; the second byte's bit 4 is set at first. */
const awake = (base: number, node: number, fromS: number, toS: number, swapped = false): Row[] =>
  sends(base + node, 0.5, fromS, toS, (_, timeS) => {
    const control = 0x40 | (timeS - fromS < 2 ? 0x10 : 0);
    return [...(swapped ? [control, node] : [node, control]), 1, 0, 0, 0, 0, 0];
  });

describe('nodes that keep a network awake', () => {
  it.each([false, true])('are recognised by number, control bits and pace (bytes swapped: %s)', (swapped) => {
    const nodes = [4, 9, 17, 40].flatMap((node) => awake(0x400, node, 5, 45, swapped));
    const frames = survey([...background(5, 50), ...nodes]);
    expect(roles(frames)).toEqual(
      [4, 9, 17, 40].map((node) => `0x${(0x400 + node).toString(16).toUpperCase()} partial-network ${node}`),
    );
    expect(frames.find(({ id }) => id === '0x404')?.network?.why).toContain('set just after waking only');
  });

  it('are not claimed from two nodes', () => {
    const rows = [4, 9].flatMap((node) => awake(0x400, node, 5, 45));
    expect(roles(survey([...background(5, 50), ...rows]))).toEqual([]);
  });

  it('are not claimed where nothing speaks of waking or sleep', () => {
    const rows = [4, 9, 17].flatMap((node) => sends(0x400 + node, 0.5, 0, 60, () => [node, 0x40, 1, 0, 0, 0, 0, 0]));
    expect(roles(survey([...background(0, 60), ...rows]))).toEqual([]);
  });

  it('are not seen in cell modules that bear their number and measured values', () => {
    const random = createRandom('cells');
    const rows = [1, 2, 3, 4].flatMap((node) =>
      sends(0x400 + node, 0.5, 0, 60, () => [node, 0x10, 0x0e, random.below(256), 0x0e, random.below(256), 0, 0]),
    );
    expect(roles(survey([...background(0, 60), ...rows]))).toEqual([]);
  });
});
