/**
 * Faults planted in a true map, one in a frame at most, and whether a capture exercises each: by counting what the true layout's
 * bits do there, never by asking the proof.
 */
import { bitPositions, codedValue, fitsIn, nextBit, rawReader, type Placement } from '../../src/frames/bits.ts';
import { lengthAt, type Stream } from '../../src/frames/table.ts';
import type { Random } from '../../src/kit/random.ts';
import { compileFrame } from '../../src/map/decode.ts';
import { canCoincide, compileWhen } from '../../src/map/pages.ts';
import type { MapFrame, MapSignal, SignalMap, When } from '../../src/map/schema.ts';
import { withObserved, type ProofCase } from './proof-cases.ts';
import { CHANGES_TOLD, exercised, streamOf } from './proof-exercised.ts';

export const FAULTS = ['period', 'rule', 'counter', 'order', 'sign', 'shift', 'pages', 'length'] as const;
export type FaultKind = (typeof FAULTS)[number];

export interface Fault {
  readonly kind: FaultKind;
  readonly frame: number;
  /** Items that it may refuse, as `item name`; one of them has to where it is exercised. */
  readonly items: readonly string[];
  readonly exercised: boolean;
  readonly words: string;
}

type Planted = {
  readonly frame: MapFrame;
  readonly items: string[];
  readonly exercised: boolean;
  readonly words: string;
};

interface Ground {
  readonly frame: MapFrame;
  readonly first: Stream | undefined;
  readonly second: Stream;
  readonly told: ReadonlySet<string>;
  readonly random: Random;
}

const CROSSINGS_TOLD = 3;
const SINGLE_STEPS_TOLD = 32;
/** Of all its moves: a value that mostly moves by more shows nothing of a bit below it. */
const SINGLE_SHARE_TOLD = 0.8;
/** A value whose usual move is more than this share of all that its bits can hold shows no place of any bit. */
const MOVE_SHARE_TOLD = 1 / 16;

/** Sizes of the moves of a run of bits, ascending. */
function movesIn(stream: Stream, rows: readonly number[], bits: readonly number[]): number[] {
  const valueAt = (row: number): number =>
    bits.reduce((sum, at, rank) => {
      const byte = stream.payload[row * stream.stride + (at >> 3)] as number;
      return sum + ((byte >> (at & 7)) & 1) * 2 ** rank;
    }, 0);
  const values = rows.map(valueAt);
  const steps = values.flatMap((value, i) => (i > 0 ? [Math.abs(value - (values[i - 1] as number))] : []));
  return steps.filter((step) => step > 0).sort((a, b) => a - b);
}

/** Rows on which a condition holds and the value says that it is one. */
function rowsWhere(frame: MapFrame, signal: MapSignal, stream: Stream): number[] {
  const present = compileWhen(signal.when, frame.selectors);
  return Array.from({ length: stream.count }, (_, row) => row).filter((row) =>
    present(stream.payload, row * stream.stride, lengthAt(stream, row)),
  );
}

function changesOf(stream: Stream, rows: readonly number[], at: number): number {
  const bit = (row: number): number => ((stream.payload[row * stream.stride + (at >> 3)] as number) >> (at & 7)) & 1;
  return rows.reduce((sum, row, i) => sum + (i > 0 && bit(row) !== bit(rows[i - 1] as number) ? 1 : 0), 0);
}

interface Owner {
  readonly name: string;
  readonly rank: number;
  readonly bits: readonly number[];
}

function ownersOn(frame: MapFrame, when: When): Map<number, Owner> {
  const owners = new Map<number, Owner>();
  const entries = [...frame.signals, ...frame.counters, ...frame.checksums, ...frame.selectors] as (Placement & {
    when?: When;
    name?: string;
  })[];
  for (const [index, entry] of entries.entries()) {
    if (!canCoincide(entry.when, when)) continue;
    const bits = bitPositions(entry);
    bits.forEach((at, rank) => owners.set(at, { name: `${index} ${entry.name ?? 'tag'}`, rank, bits }));
  }
  return owners;
}

/** Whether the capture shows that `wrong` is no value of the true frame: it joins two, cuts one, or turns one about. */
function placeShows(truth: MapFrame, wrong: MapSignal, stream: Stream): boolean {
  const rows = rowsWhere(truth, wrong, stream);
  if (rows.length < 2) return false;
  const owners = ownersOn(truth, wrong.when);
  const bits = bitPositions(wrong as Placement);
  const parts = bits.map((at) => ({ at, owner: owners.get(at), changes: changesOf(stream, rows, at) }));
  const live = parts.filter(({ changes }) => changes >= CHANGES_TOLD);
  const leaps = live.some(({ owner }) => {
    if (!owner?.name.endsWith(` ${wrong.name}`)) return false;
    const moves = movesIn(stream, rows, owner.bits);
    return (moves[moves.length >> 1] ?? 0) > MOVE_SHARE_TOLD * 2 ** owner.bits.length;
  });
  if (leaps) return false;
  const names = new Set(live.map(({ at, owner }) => owner?.name ?? `nobody ${at >> 3}`));
  if (names.size > 1) return true;
  const ranks = live.map(({ owner }) => owner?.rank ?? 0);
  if (ranks.some((rank, i) => i > 0 && rank < (ranks[i - 1] as number))) return true;
  const owner = live[0]?.owner;
  if (!owner) return false;
  const outside = owner.bits.filter((at) => !bits.includes(at) && changesOf(stream, rows, at) >= CHANGES_TOLD);
  const [least, most] = [Math.min(...ranks), Math.max(...ranks)];
  if (outside.some((at) => owner.bits.indexOf(at) > most)) return true;
  const moves = movesIn(stream, rows, owner.bits);
  const single = moves.filter((step) => step === 1).length;
  const isFine = single >= SINGLE_STEPS_TOLD && single >= SINGLE_SHARE_TOLD * moves.length;
  return outside.some((at) => owner.bits.indexOf(at) < least) && isFine;
}

function swapSignal(frame: MapFrame, index: number, signal: MapSignal): MapFrame {
  return { ...frame, signals: frame.signals.map((each, i) => (i === index ? signal : each)) };
}

function pickSignal({ frame, random }: Ground, fits: (signal: MapSignal) => boolean): number | null {
  const places = frame.signals.flatMap((signal, i) => (fits(signal) ? [i] : []));
  return places.length > 0 ? random.pick(places) : null;
}

const wide = (signal: MapSignal): boolean =>
  signal.kind === 'number' && !signal.continues && signal.length >= 4 && signal.length <= 32;
const whole = (signal: MapSignal): boolean =>
  wide(signal) && ['unsigned', 'signed', 'sign-magnitude'].includes(signal.coding);

function planted(ground: Ground, index: number, wrong: MapSignal, shows: boolean, words: string): Planted {
  const { frame, first } = ground;
  // A range from the wrong reading itself: that of the right one would give it away.
  const seen = withObserved(swapSignal(frame, index, { ...wrong, allowed: null }), first).signals[index] as MapSignal;
  return {
    frame: swapSignal(frame, index, seen),
    items: [`signal ${wrong.name}`],
    exercised: shows,
    words: `${wrong.name}: ${words}`,
  };
}

const at = (position: number) => ({ byte: position >> 3, bit: position & 7 });

const PLANT: Record<FaultKind, (ground: Ground) => Planted | null> = {
  period: ({ frame, told, random }) => {
    const { kind, periodMs, byMode: _byMode, ...timing } = frame.timing;
    if (kind !== 'periodic' || !periodMs) return null;
    const factor = random.pick([0.5, 0.9, 1.1, 1.25, 2]);
    return {
      frame: { ...frame, timing: { ...timing, kind, periodMs: periodMs * factor } },
      items: [`timing ${frame.name}`, `presence ${frame.name}`],
      exercised: told.has(`timing ${frame.name}`),
      words: `period times ${factor}`,
    };
  },
  rule: ({ frame, told, random }) => {
    const places = frame.checksums.flatMap(({ method }, i) => (['crc', 'sum', 'xor'].includes(method) ? [i] : []));
    if (places.length === 0) return null;
    const index = random.pick(places);
    const own = frame.checksums[index];
    if (!own) return null;
    const flip = (text: string | undefined, mask: number): string =>
      '0x' + (Number(text ?? '0x0') ^ mask).toString(16).toUpperCase();
    const wrong = own.method === 'crc' ? { ...own, poly: flip(own.poly, 6) } : { ...own, init: flip(own.init, 1) };
    const name = `checksum ${own.method} at byte ${own.lsb.byte} bit ${own.lsb.bit}, ${own.length} bits`;
    return {
      frame: { ...frame, checksums: frame.checksums.map((each, i) => (i === index ? wrong : each)) },
      items: [name],
      exercised: told.has(name),
      words: `${name}: another ${own.method === 'crc' ? 'polynomial' : 'start'}`,
    };
  },
  counter: ({ frame, told, random }) => {
    const own = frame.counters[0];
    if (!own || own.max - own.min > 255 || own.max - own.min < 2) return null;
    const max = own.max + (own.max < 2 ** own.length - 1 ? random.pick([-1, 1]) : -1);
    return {
      frame: { ...frame, counters: [{ ...own, max }, ...frame.counters.slice(1)] },
      items: [
        `counter ${own.name}`,
        ...frame.checksums.map(
          ({ method, lsb, length }) => `checksum ${method} at byte ${lsb.byte} bit ${lsb.bit}, ${length} bits`,
        ),
      ],
      exercised: told.has(`counter ${own.name}`),
      words: `${own.name}: ends at ${max}, not ${own.max}`,
    };
  },
  order: (ground) => {
    const crosses = (signal: MapSignal): boolean =>
      whole(signal) && new Set(bitPositions(signal as Placement).map((bit) => bit >> 3)).size > 1;
    const index = pickSignal(ground, crosses);
    if (index === null) return null;
    const own = ground.frame.signals[index] as MapSignal;
    const bits = bitPositions(own as Placement);
    const other = own.order === 'little' ? 'big' : 'little';
    const top = (bits.at(-1) as number) >> 3;
    const wrong = { ...own, order: other, lsb: { byte: top, bit: own.lsb.bit } } as MapSignal;
    if (!fitsIn(wrong as Placement, ground.frame.length)) return null;
    return planted(ground, index, wrong, placeShows(ground.frame, wrong, ground.second), `order ${other}`);
  },
  sign: (ground) => {
    const index = pickSignal(ground, whole);
    if (index === null) return null;
    const own = ground.frame.signals[index] as MapSignal;
    const coding = own.coding === 'unsigned' ? 'signed' : 'unsigned';
    const read = rawReader(own as Placement);
    const seam = own.coding === 'unsigned' ? 2 ** (own.length - 1) : 0;
    const compiled = compileFrame(ground.frame).signals[index];
    const sides = rowsWhere(ground.frame, own, ground.second)
      .map((row) => read(ground.second.payload, row * ground.second.stride))
      .filter((raw) => compiled?.invalidOf(raw) === null)
      .map((raw) => codedValue(raw, own.coding, own.length));
    // In steps, not from a filling or in a leap that shows nothing.
    const near = (value: number, before: number): boolean => Math.abs(value - before) < 2 ** (own.length - 4);
    const crossings = sides.filter((value, i) => {
      const before = sides[i - 1];
      return before !== undefined && value >= seam !== before >= seam && near(value, before);
    }).length;
    return planted(ground, index, { ...own, coding }, crossings >= CROSSINGS_TOLD, `${own.coding} read as ${coding}`);
  },
  shift: (ground) => {
    const index = pickSignal(ground, whole);
    if (index === null) return null;
    const own = ground.frame.signals[index] as MapSignal;
    const way = ground.random.pick([1, -1] as const);
    const lsb = nextBit(bitPositions(own as Placement)[0] as number, way, own.order);
    const wrong = { ...own, lsb: at(lsb) } as MapSignal;
    if (lsb < 0 || !fitsIn(wrong as Placement, ground.frame.length)) return null;
    return planted(
      ground,
      index,
      wrong,
      placeShows(ground.frame, wrong, ground.second),
      `shifted ${way > 0 ? 'up' : 'down'}`,
    );
  },
  pages: ({ frame, second, random }) => {
    const [selector] = frame.selectors;
    if (!selector || frame.selectors.length > 1) return null;
    const { name } = selector;
    const values = [...new Set(frame.signals.flatMap(({ when }) => when?.[name] ?? []))];
    const single = frame.signals.every(({ when }) => !when?.[name] || when[name].length === 1);
    if (values.length < 2 || !single) return null;
    const [one, two] = random.shuffle([...values]) as [number, number];
    const other = (value: number): number => (value === one ? two : value === two ? one : value);
    const signals = frame.signals.map((signal) =>
      signal.when?.[name] ? { ...signal, when: { ...signal.when, [name]: signal.when[name].map(other) } } : signal,
    );
    const moved = signals.filter(({ when }) => when?.[name]?.some((value) => value === one || value === two));
    return {
      frame: { ...frame, signals },
      items: moved.map((signal) => `signal ${signal.name}`),
      exercised: moved.some((signal) => wide(signal) && placeShows(frame, signal, second)),
      words: `pages ${one} and ${two} of ${name} exchanged`,
    };
  },
  length: ({ frame, told }) => ({
    frame: { ...frame, length: frame.length + 1 },
    items: [`length ${frame.name}`],
    exercised: told.has(`length ${frame.name}`),
    words: 'one byte longer',
  }),
};

/** Frames that are there in both captures have a fault each, as far as one fits; every second frame stays true. */
export function plantFaults({ map, first, second }: ProofCase, random: Random): { map: SignalMap; faults: Fault[] } {
  const faults: Fault[] = [];
  const frames = map.frames.map((frame, index): MapFrame => {
    const stream = streamOf(second, frame);
    if (!stream || random.next() < 0.4) return frame;
    const ground = { frame, first: streamOf(first, frame), second: stream, told: exercised(frame, second), random };
    const drawn = random.shuffle([...FAULTS].filter((kind) => kind !== 'length'));
    // Pages are seldom: where there are some, they are mostly what is exchanged.
    const isPaged = frame.selectors.length > 0 && random.next() < 0.8;
    const kinds: readonly FaultKind[] = [...(isPaged ? (['pages'] as const) : []), ...drawn, 'length'];
    for (const kind of kinds) {
      const made = PLANT[kind](ground);
      if (!made) continue;
      faults.push({ kind, frame: index, items: made.items, exercised: made.exercised, words: made.words });
      return made.frame;
    }
    return frame;
  });
  return { map: { ...map, frames }, faults };
}
