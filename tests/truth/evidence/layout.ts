/** Puts a machine's signals in frames of their senders: identifiers, periods, places, codings and scales of one house style, with counters and guards. */
import type { Coding } from '../../../src/frames/bits.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { chance } from '../stranger/draw.ts';
import { guardFrame } from '../stranger/guards.ts';
import type { Layout } from '../stranger/layout.ts';
import { Packer } from '../stranger/packer.ts';
import { STYLES, type Style } from '../stranger/styles.ts';
import type { Placement } from '../../../src/frames/bits.ts';
import type { Beat } from './beats.ts';
import type { Machine, Pace, Signal } from './machine.ts';

export interface Shown {
  readonly signal: Signal;
  readonly place: Placement;
  readonly coding: Coding;
  readonly scale: number;
  readonly offset: number;
}

export interface Frame {
  readonly sender: string;
  /** Bus, identifier, period, counters and guards. */
  readonly layout: Layout;
  readonly shown: readonly Shown[];
  readonly beat: Beat;
  /** So much after it, seconds. */
  readonly afterS: number;
  /** Also sent at once when a flag or state of it changes. */
  readonly onChange: boolean;
}

/** At least so coarse, round or odd. */
function drawScale(random: Random, least: number): number {
  const ten = 10 ** Math.floor(Math.log10(least));
  const round = [1, 2, 2.5, 5, 10].map((digit) => digit * ten).find((value) => value >= least * 0.9999) as number;
  const two = 2 ** Math.ceil(Math.log2(least) - 1e-9);
  const odd = Number((least * random.between(1, 1.25)).toPrecision(random.pick([3, 4])));
  return Number(random.pick([round, round, two, odd]).toPrecision(12));
}

interface Coded {
  readonly width: number;
  readonly coding: Coding;
  readonly scale: number;
  readonly offset: number;
}

const WIDTHS = [8, 9, 10, 11, 12, 12, 13, 14, 15, 16, 16];

/** Enough bits for what it must show; negative values in the house's way or by an offset. */
function drawCoding(random: Random, { kind, low, high, scale, noise, unit }: Signal, style: Style): Coded {
  const plain = { coding: 'unsigned' as Coding, scale: 1, offset: 0 };
  if (kind === 'flag') return { ...plain, width: 1 };
  if (kind === 'states') return { ...plain, width: random.pick([3, 3, 4]) };
  const coding = low < 0 && !(unit === '°C') ? random.pick(style.signs.filter((sign) => sign !== 'float')) : 'unsigned';
  const span = coding === 'unsigned' ? high - low : 2 * Math.max(high, -low);
  const fineEnough = noise > 0 ? Math.ceil(Math.log2(span / (noise * 8))) : 8;
  const width = Math.max(8, Math.min(16, Math.max(fineEnough, random.pick(style.align === 8 ? [8, 16] : WIDTHS))));
  const least = span / (2 ** width - 4);
  const chosen = scale ?? drawScale(random, least);
  const needed = Math.ceil(Math.log2(span / chosen + 3));
  const bits = style.align === 8 ? Math.ceil(needed / 8) * 8 : Math.max(needed, 2);
  return {
    width: bits,
    coding,
    scale: chosen,
    offset: coding === 'unsigned' && low !== 0 ? Math.floor(low / chosen) * chosen : 0,
  };
}

function blankLayout(random: Random, style: Style, bus: string, id: number, periodMs: number): Layout {
  const length = style.extended || chance(random, 0.75) ? 8 : random.pick([4, 5, 6, 7]);
  const fill = Uint8Array.from({ length }, () => (chance(random, style.spareOnes) ? 255 : 0));
  const jitter = random.between(0.01, 0.06);
  return {
    bus,
    id,
    extended: style.extended,
    fd: false,
    length,
    periodMs,
    jitter,
    fill,
    items: [],
    counters: [],
    guards: [],
    selector: null,
    cipher: null,
  };
}

function openFrame(random: Random, seed: string, style: Style, layout: Layout): Packer {
  const packer = new Packer(style.order, layout.length);
  if (layout.length >= 5 && chance(random, style.guardRate * 0.7)) {
    guardFrame(random, seed, style, packer, layout, random.pick(style.guards));
    // A counter's habits are drawn elsewhere; here it must be a plain part of the frame.
    layout.counters.splice(0, Infinity, ...layout.counters.map((plan) => ({ ...plan, onChange: false })));
  }
  return packer;
}

/** Frames of one beat follow each other by this, up to that. */
const FRAME_S = 0.0006;
const FRAMES_LAST_S = 0.005;

class House {
  readonly ids = new Set<number>();

  constructor(
    readonly random: Random,
    readonly style: Style,
  ) {}

  id(pace: Pace): number {
    const { extended } = this.style;
    for (;;) {
      const rank = { fast: 0x080, medium: 0x200, slow: 0x400 }[pace] + this.random.below(0x1f0);
      const id = extended ? 0x0cf00000 + rank * 256 + this.random.below(48) : rank;
      if (!this.ids.has(id) && this.ids.add(id)) return id;
    }
  }
}

/** Signals of one sender and pace, into as many frames as it takes. */
function fillFrames(
  house: House,
  seed: string,
  bus: string,
  sender: string,
  pace: Pace,
  signals: readonly Signal[],
  beat: Beat,
): Frame[] {
  const { style } = house;
  const random = house.random.fork(`${sender} ${pace}`);
  const frames: Frame[] = [];
  const waiting = random.shuffle([...signals]);
  while (waiting.length > 0) {
    const layout = blankLayout(random, style, bus, house.id(pace), beat.periodMs);
    const packer = openFrame(random, seed, style, layout);
    const shown: Shown[] = [];
    const most = random.pick([4, 5, 6, 7]);
    for (let signal = waiting[0]; signal && shown.length < most; signal = waiting[0]) {
      const { width, ...coded } = drawCoding(random.fork(signal.name), signal, style);
      const align = width > 4 ? style.align : Math.min(style.align, 4);
      if (chance(random, 0.2)) packer.cursor += random.pick([1, 2, 4]);
      const place = packer.add(width, align);
      if (!place) break;
      waiting.shift();
      shown.push({ signal, place, ...coded });
    }
    if (shown.length === 0) {
      house.ids.delete(layout.id);
      continue;
    }
    const discrete = shown.some(({ signal }) => signal.kind !== 'number');
    const afterS = Math.min(FRAMES_LAST_S, frames.length * FRAME_S);
    frames.push({ sender, layout, shown, beat, afterS, onChange: discrete && pace !== 'fast' && chance(random, 0.15) });
  }
  return frames;
}

const STYLE_NAMES = ['packed', 'bytes', 'nibbles', 'sums', 'truck'] as const;

/** Who commands another is on one bus with it. Gives a name for all that must be together. */
function busMates({ pairs }: Machine): (module: string) => string {
  const mates = new Map<string, string>();
  const together = (module: string): string => {
    const mate = mates.get(module);
    return mate === undefined ? module : together(mate);
  };
  for (const { commander, actuator } of pairs) {
    const [one, other] = [together(commander), together(actuator)];
    if (one !== other) mates.set(other, one);
  }
  return together;
}

/** The same for all recordings of a machine. Modules sit on one bus or on two. */
export function layOut(machine: Machine, seed: string, extended: boolean | null): Frame[] {
  const random = createRandom(`evidence layout ${seed}`);
  const drawn = random.pick(STYLE_NAMES);
  const style: Style = STYLES[extended === true ? 'truck' : extended === false && drawn === 'truck' ? 'packed' : drawn];
  const buses = chance(random, 0.4) ? ['can0', 'can1'] : ['can0'];
  const house = new House(random, style);
  const senders = [...new Set(machine.signals.map(({ sender }) => sender))];
  const together = busMates(machine);
  return senders.flatMap((sender) => {
    const bus = random.fork(`bus ${together(sender)}`).pick(buses);
    return (['fast', 'medium', 'slow'] as const).flatMap((pace) => {
      const signals = machine.signals.filter((signal) => signal.sender === sender && signal.pace === pace);
      return fillFrames(house, `evidence ${seed}`, bus, sender, pace, signals, machine.beatOf(sender, pace));
    });
  });
}
