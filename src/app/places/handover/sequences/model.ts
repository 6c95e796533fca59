/** Sequences of a map as rows of delays. Pure. */
import { displayId } from '../../../../kit/units.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import type { DelayRow } from '../delays.ts';

type Sequence = SignalMap['sequences'][number];
type Frames = SignalMap['frames'];

const rawWords = (raw: number | string, states: Readonly<Record<string, string>> | undefined): string =>
  states?.[String(raw)] ?? String(raw);

function stepLabel(step: Sequence['steps'][number], frames: Frames): { label: string; inferred: boolean } {
  const frame = frames.find(({ bus, id }) => bus === step.bus && id === step.id);
  const signal = frame?.signals.find(({ name }) => name === step.signal);
  const where = `${displayId(Number(step.id), frame?.extended ?? false)} ${step.signal}`;
  return {
    label: `${where} ${rawWords(step.from, signal?.states)} → ${rawWords(step.to, signal?.states)}`,
    inferred: (signal?.standing ?? 'guess') === 'guess',
  };
}

const seenOf = (seen: number, n: number): string => `${seen} of ${n} ${n === 1 ? 'time' : 'times'}`;

/** In the order of their delays: changes of signals, and senders that begin or fall silent. */
export function rowsOf(sequence: Sequence, frames: Frames): readonly DelayRow[] {
  const steps = sequence.steps.map((step, at): DelayRow => {
    const [lowMs, highMs] = step.delayMs;
    const { label, inferred } = stepLabel(step, frames);
    return {
      key: `step ${at}`,
      label,
      group: step.group,
      lowMs,
      highMs,
      midMs: null,
      seen: seenOf(step.seen, sequence.n),
      inferred,
    };
  });
  const presence = (sequence.presence ?? []).map((one, at): DelayRow => {
    const [lowMs, highMs] = one.delayMs;
    const frame = frames.find(({ bus, id }) => bus === one.bus && id === one.id);
    const label = `${displayId(Number(one.id), frame?.extended ?? false)} ${one.what === 'begins' ? 'begins' : 'falls silent'}`;
    return {
      key: `presence ${at}`,
      label,
      group: one.group,
      lowMs,
      highMs,
      midMs: null,
      seen: seenOf(one.seen, sequence.n),
      inferred: false,
    };
  });
  return [...steps, ...presence].sort((a, b) => a.lowMs + a.highMs - b.lowMs - b.highMs);
}

/** What a controller waits for most: a sequence after the key, seen more often than others. */
export function firstShown(sequences: readonly Sequence[]): Sequence | null {
  const weight = ({ event, name, n }: Sequence): number =>
    (/\bon\b/i.test(name) ? 4 : 0) + (/key|start|ignition/i.test(`${event} ${name}`) ? 8 : 0) + Math.min(n, 3);
  return sequences.toSorted((a, b) => weight(b) - weight(a))[0] ?? null;
}
