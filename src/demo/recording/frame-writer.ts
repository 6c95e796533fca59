/**
 * Turns the physics at one moment into one frame's payload, through the same compiled encoder that the handover uses:
 * values are limited to what the field can hold, or "no data" until the module has initialised.
 */
import { createRandom, type Random } from '../../kit/random.ts';
import { advanceCounter, type CounterState } from '../../map/counter.ts';
import { compileEncoder, type CompiledEncoder } from '../../map/encode.ts';
import type { MapCounter, MapSignal } from '../../map/schema.ts';
import { writeRaw } from '../../frames/bits.ts';
import type { SignalEncoder } from '../../map/signal-encoder.ts';
import type { Truth } from '../physics/simulate.ts';
import { quantityOf, type ModuleRole } from '../quantities.ts';
import type { TrueField, TrueFrame } from '../true-frame.ts';

export interface Moment {
  /** True time, seconds of the simulation. */
  readonly timeS: number;
  /** Milliseconds since the module's first frame, on its own clock. */
  readonly awakeMs: number;
  readonly initialised: boolean;
}

type FieldWriter = (payload: Uint8Array, moment: Moment) => void;

const NO_SELECTOR = -1;

interface PageWriters {
  readonly page: number;
  readonly writers: readonly FieldWriter[];
}

function physicalAt(column: Float32Array, stepS: number, field: TrueField, moment: Moment): number {
  const age = field.delayMs / 1000 + (field.refreshMs > 0 ? (moment.awakeMs % field.refreshMs) / 1000 : 0);
  const step = Math.floor((moment.timeS - age) / stepS + 1e-6);
  return column[Math.max(0, Math.min(column.length - 1, step))] as number;
}

function writeNumber(encoder: SignalEncoder, signal: MapSignal): (physical: number, payload: Uint8Array) => void {
  const { allowed } = signal;
  if (!allowed) return (physical, payload) => void encoder.writePhysical(physical, payload, 0);
  const { min, max } = allowed;
  return (physical, payload) => void encoder.writePhysical(Math.min(max, Math.max(min, physical)), payload, 0);
}

function fieldWriter(
  field: TrueField,
  encoder: SignalEncoder,
  truth: Truth,
  absent: ReadonlySet<ModuleRole>,
): FieldWriter {
  const { source, codes, noData } = field;
  const { signal } = encoder.compiled;
  if (source.from === 'text') {
    const raw = encoder.rawOf(source.text) ?? 0;
    return (payload) => encoder.write(raw, payload, 0);
  }
  if (source.from === 'since-wake')
    return (payload, { awakeMs }) => encoder.write(Number(awakeMs < source.untilMs), payload, 0);
  const column = truth.columns[source.quantity];
  const gone = absent.has(quantityOf(source.quantity).source);
  const number = signal.kind === 'number' ? writeNumber(encoder, signal) : null;
  const writeDefault = (payload: Uint8Array): void => {
    if (noData !== null) encoder.write(noData, payload, 0);
    else if (number) number(Math.max(0, quantityOf(source.quantity).low), payload);
    else encoder.write(codes[0] ?? 0, payload, 0);
  };
  return (payload, moment) => {
    if (gone || !moment.initialised) return writeDefault(payload);
    const physical = physicalAt(column, truth.stepS, field, moment);
    if (number) number(physical + source.bias, payload);
    else encoder.write(codes[Math.round(physical)] ?? 0, payload, 0);
  };
}

/** Mixes bytes and key beyond anything linear: what a keyed tag looks like to somebody without the key. */
function tagOf(payload: Uint8Array, key: number, freshness: number): number {
  let hash = (key ^ Math.imul(freshness + 1, 0x9e3779b1)) >>> 0;
  for (const byte of payload) {
    hash = Math.imul(hash ^ byte, 0x01000193) >>> 0;
    hash = (hash ^ (hash >>> 13) ^ Math.imul(hash, hash | 1)) >>> 0;
  }
  return (hash ^ (hash >>> 16)) & 0xffff;
}

const isOn = ({ when }: MapCounter, page: number | null): boolean =>
  when === null || Object.values(when).every((values) => values.includes(page ?? NO_SELECTOR));

/** Writes one identifier's frames in their order: holds its counters, its page and its freshness. */
export class FrameWriter {
  private readonly encoder: CompiledEncoder;
  private readonly common: readonly FieldWriter[];
  private readonly paged: readonly PageWriters[];
  private readonly counters: { readonly rule: MapCounter; state: CounterState }[];
  private readonly random: Random;
  private page = 0;
  /** Selector value of the frame being written; null without pages. */
  private sentPage: number | null = null;
  private freshness = 0;
  private readonly scratch: Uint8Array;
  private readonly lastSent: Uint8Array;

  constructor(
    readonly frame: TrueFrame,
    truth: Truth,
    absent: ReadonlySet<ModuleRole>,
    seed: number,
    running: boolean,
  ) {
    this.encoder = compileEncoder(frame.map);
    this.random = createRandom(seed).fork(`frame ${frame.map.bus} ${frame.map.id}`);
    const writer = (field: TrueField): FieldWriter =>
      fieldWriter(field, this.encoder.signal(field.name) as SignalEncoder, truth, absent);
    this.common = frame.fields.filter(({ page }) => page === null).map(writer);
    this.paged = frame.pages.map((page) => ({
      page,
      writers: frame.fields.filter((field) => field.page === page).map(writer),
    }));
    this.counters = frame.map.counters.map((rule) => ({
      rule,
      state: { value: running ? rule.min + this.random.below(rule.max - rule.min + 1) : rule.min, sent: 0 },
    }));
    if (running && frame.pages.length > 0) this.page = this.random.below(frame.pages.length);
    this.scratch = new Uint8Array(frame.map.length);
    this.lastSent = new Uint8Array(frame.map.length);
  }

  /** The module was asleep: counters and pages begin again. */
  restart(): void {
    for (const counter of this.counters) counter.state = { value: counter.rule.min, sent: 0 };
    this.page = 0;
    this.lastSent.fill(0);
  }

  /** Whether values differ from the frame sent last; for frames sent on a change. */
  differs(moment: Moment): boolean {
    this.writeValues(this.scratch, moment);
    return this.scratch.some((byte, at) => byte !== this.lastSent[at]);
  }

  /** The next frame's payload; the array is used again by the next call. */
  next(moment: Moment): Uint8Array {
    const payload = this.scratch;
    this.writeValues(payload, moment);
    this.lastSent.set(payload);
    this.sentPage = this.paged[this.page]?.page ?? null;
    this.turnPage();
    for (const byte of this.frame.noise) payload[byte] = this.random.below(256);
    for (const counter of this.counters) {
      if (!isOn(counter.rule, this.sentPage)) continue;
      this.encoder.writeCounter(counter.rule.name, counter.state.value, payload);
      counter.state = advanceCounter(counter.rule, counter.state);
    }
    this.encoder.writeChecksums(payload, 0, payload.length);
    if (this.frame.tag) this.writeTag(payload);
    return payload;
  }

  private writeValues(payload: Uint8Array, moment: Moment): void {
    payload.set(this.frame.base);
    for (const write of this.common) write(payload, moment);
    const own = this.paged[this.page];
    if (!own || own.page === NO_SELECTOR) return;
    this.encoder.writeSelector('page', own.page, payload);
    for (const write of own.writers) write(payload, moment);
  }

  private turnPage(): void {
    if (this.paged.length > 0) this.page = (this.page + 1) % this.paged.length;
  }

  private writeTag(payload: Uint8Array): void {
    const { piece, kind, key } = this.frame.tag as NonNullable<TrueFrame['tag']>;
    writeRaw(piece, 0, payload);
    const tag = tagOf(payload, key, kind === 'keyed' ? this.freshness++ : 0);
    writeRaw(piece, tag & (2 ** piece.length - 1), payload);
  }
}
