/** Two modules on one bus, made by hand: what one shows, and what the other shows of it, each in a frame of its own. */
import type { SurveyFrame } from '../../../src/timing/types.ts';
import { buildTable, type PlainFrame } from '../../../src/frames/build-table.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import type { ProposedField, ProposedFrame } from '../../../src/map/proposed-fields.ts';

export interface SentField {
  readonly id: number;
  readonly sender: string | null;
  readonly periodMs: number;
  readonly phaseMs: number;
  /** Raw value, 0..65535, at a time in seconds. */
  readonly at: (timeS: number) => number;
  readonly kind?: ProposedField['kind'];
}

const LENGTH_S = 120;
export const hexOf = (id: number): string => `0x${id.toString(16).toUpperCase()}`;

function framesOf({ id, periodMs, phaseMs, at }: SentField, lengthS: number): PlainFrame[] {
  const frames: PlainFrame[] = [];
  for (let ms = phaseMs; ms < 1000 * lengthS; ms += periodMs) {
    const raw = Math.max(0, Math.min(65535, Math.round(at(ms / 1000))));
    frames.push({ timeUs: 1000 * ms, bus: 'can0', id, data: [raw & 255, raw >> 8] });
  }
  return frames;
}

export interface Sent {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly survey: { readonly frames: readonly SurveyFrame[] };
}

export function send(fields: readonly SentField[], lengthS = LENGTH_S): Sent {
  const frames = fields.flatMap((field) => framesOf(field, lengthS)).sort((a, b) => a.timeUs - b.timeUs);
  const key = ({ id }: SentField) => ({ bus: 'can0', id: hexOf(id), extended: false, direction: 'received' as const });
  const findings = fields.map((field): ProposedFrame => ({
    ...key(field),
    selectors: [],
    fields: [
      {
        name: `f${hexOf(field.id)}`,
        lsb: { byte: 0, bit: 0 },
        length: 16,
        order: 'little',
        coding: 'unsigned',
        kind: field.kind ?? 'number',
        when: null,
        invalid: [],
      },
    ],
  }));
  const surveyed = fields.map(
    (field) =>
      ({
        ...key(field),
        group: field.sender,
        groupConfidence: field.sender === null ? null : 0.95,
        timing: { kind: 'periodic', periodMs: field.periodMs, jitterMs: 0.1 },
      }) as unknown as SurveyFrame,
  );
  return { table: buildTable(frames), findings, survey: { frames: surveyed } };
}

/** Straight between values a step apart. */
function between(values: readonly number[], stepS: number): (timeS: number) => number {
  return (timeS) => {
    const at = Math.max(0, Math.min(values.length - 1.001, timeS / stepS));
    const [before, after] = [values[Math.floor(at)] as number, values[Math.floor(at) + 1] as number];
    return before + (at - Math.floor(at)) * (after - before);
  };
}

/** A course that goes to a new aim at uneven times, by at most so much a second: what a controller sends. */
export function wandering(seed: number, ratePerS: number, low: number, high: number): (timeS: number) => number {
  let state = seed;
  const next = (): number => (state = (state * 16807) % 2147483647) / 2147483647;
  const stepS = 0.005;
  const values: number[] = [(low + high) / 2];
  let [aim, untilS] = [values[0] as number, 0];
  for (let k = 1; k * stepS < LENGTH_S + 1; k++) {
    if (k * stepS >= untilS) {
      aim = low + next() * (high - low);
      untilS = k * stepS + 0.4 + 2 * next();
    }
    const last = values[k - 1] as number;
    values.push(last + Math.max(-ratePerS * stepS, Math.min(ratePerS * stepS, aim - last)));
  }
  return between(values, stepS);
}

/** A first-order lag with a dead time behind it. */
export function lagging(course: (timeS: number) => number, constantS: number, deadS = 0): (timeS: number) => number {
  const stepS = 0.005;
  const values: number[] = [course(0)];
  for (let k = 1; k * stepS < LENGTH_S + 1; k++) {
    const last = values[k - 1] as number;
    values.push(last + (course(k * stepS - deadS) - last) * (1 - Math.exp(-stepS / constantS)));
  }
  return between(values, stepS);
}

/** Noise that is the same for the same time. */
export const noise = (timeS: number, size: number): number => {
  const turned = Math.sin(Math.round(timeS * 1000) * 12.9898) * 43758.5453;
  return size * (turned - Math.floor(turned) - 0.5);
};
