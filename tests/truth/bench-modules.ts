/**
 * Simulated modules on a bench: what each needs to be sent, how it fails, how well it answers; and what a logger records of a trial. Everything
 * invented. The true needs are read by the score alone, never by what is tested.
 */
import { FrameBuilder } from '../../src/frames/builder.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import type { KeepAlivePlan, NeedReason } from '../../src/handover/needs/types.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { compileEncoder, type CompiledEncoder } from '../../src/map/encode.ts';
import { advanceCounter, type CounterState } from '../../src/map/counter.ts';
import { frameKey, idNumber } from '../../src/map/identifiers.ts';
import { formatPayload, parsePayload } from '../../src/map/raw-values.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame, aMap, aSignal } from '../support/map-parts.ts';
import { planned } from '../support/plan-parts.ts';

/** One thing that the module needs: any of these frames. */
export interface Clause {
  readonly anyOf: readonly string[];
  /** From waking without it to the fault. */
  readonly debounceS: number;
  /** Without it the module goes to sleep, without a fault. */
  readonly keepsAwake: boolean;
}

/** A frame that does harm where it is heard: a fault, or the module stays off. */
export interface Disturber {
  readonly key: string;
  readonly afterS: number;
  readonly putsToSleep: boolean;
}

export interface BenchModule {
  readonly title: string;
  readonly map: SignalMap;
  readonly plan: KeepAlivePlan;
  readonly clauses: readonly Clause[];
  readonly disturbers: readonly Disturber[];
  /** A fault of the trial before is still there unless it slept so long; null where none stays. */
  readonly latchS: number | null;
  /** Chance that a trial goes otherwise than its frames would have it. */
  readonly flaky: number;
  /** A wire is missing: it never works. */
  readonly lacksWire: boolean;
  /** Awake by its supply, or by any frame on the bus. */
  readonly wakes: 'by-supply' | 'by-frames';
  /** Values that its fields show. */
  readonly shows: { readonly works: OwnValues; readonly waits: OwnValues; readonly faulty: OwnValues };
}

interface OwnValues {
  readonly state: number;
  readonly fault: number;
}

export interface SimulatedTrial {
  readonly sent: readonly string[];
  readonly sleepS: number;
  readonly settleS: number;
  /** A slip of the person: this frame is sent with a frozen counter. */
  readonly frozen?: string;
  /** The recording ends after this share of the time. */
  readonly recordedShare?: number;
  readonly stopped?: { readonly key: string; readonly atS: number };
}

const WAKE_S = 0.4;
const STATUS = '0x120';
const OWN_NETWORK = '0x5C0';
const PERIODS_MS = [10, 20, 50, 100, 100, 200, 500, 1000];

function statusFrame(random: Random, shows: BenchModule['shows'], hasFault: boolean, isNamed: boolean): MapFrame {
  const names: Record<string, string> = {
    [shows.works.state]: 'ready',
    [shows.waits.state]: 'init',
    [shows.faulty.state]: 'fault',
  };
  const rest = new Uint8Array(8).map(() => random.below(256));
  [rest[0], rest[1]] = [shows.works.state, shows.works.fault];
  const state = aSignal({
    name: 'mode',
    lsb: { byte: 0, bit: 0 },
    length: 4,
    kind: 'states',
    role: 'state',
    states: isNamed ? names : {},
  });
  const fault = aSignal({ name: 'trouble', lsb: { byte: 1, bit: 0 }, length: 8, role: 'fault' });
  return aFrame({
    id: STATUS,
    name: 'part_status',
    role: 'sent-by-part',
    timing: { kind: 'periodic', periodMs: 20, jitterMs: 0.2 },
    rest: { payload: formatPayload(rest), capture: 'c1', fromS: 0, toS: 2 },
    signals: hasFault ? [state, fault] : [state],
    counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4, max: 14 })],
  });
}

const ownNetwork = aFrame({
  id: OWN_NETWORK,
  name: 'part_network',
  role: 'sent-by-part',
  timing: { kind: 'periodic', periodMs: 200, jitterMs: 0.5 },
});

function candidateFrame(random: Random, index: number, group: string): MapFrame {
  const id = 0x180 + 7 * index;
  const payload = new Uint8Array(8).map(() => random.below(256));
  const guarded = random.next() < 0.5;
  return rested(
    {
      id: `0x${id.toString(16).toUpperCase()}`,
      name: `frame_${id.toString(16)}`,
      sender: { group, name: '', confidence: 0.95 },
      timing: { kind: 'periodic', periodMs: random.pick(PERIODS_MS), jitterMs: 0.3 },
      counters: guarded ? [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4 })] : [],
      checksums: guarded
        ? [
            aChecksum({
              lsb: { byte: 7, bit: 0 },
              length: 8,
              method: 'crc',
              width: 8,
              poly: '0x1D',
              init: '0xFF',
              refin: false,
              refout: false,
              xorout: '0xFF',
              covers: [0, 1, 2, 3, 4, 5, 6],
            }),
          ]
        : [],
    },
    payload,
  );
}

/** With a payload at rest whose checksums hold, from a span that was marked. */
function rested(part: Partial<MapFrame>, payload: Uint8Array): MapFrame {
  const frame = aFrame(part);
  compileEncoder(frame).writeChecksums(payload, 0, payload.length);
  return {
    ...frame,
    rest: { payload: formatPayload(payload), capture: 'c1', fromS: 0, toS: 2, marked: 'parked, key on' },
  };
}

function reasonsFor(random: Random, isNeeded: boolean): NeedReason[] {
  const said = random.next() < (isNeeded ? 0.4 : 0.05);
  return said ? [{ kind: 'absence', speaksFor: 'needed', words: 'the part reacted when it was absent' }] : [];
}

export interface ModuleWish {
  readonly candidates?: number;
  readonly needed?: number;
  readonly latches?: boolean;
  readonly flaky?: number;
  readonly alternatives?: boolean;
  readonly lacksWire?: boolean;
  readonly keptAwake?: boolean;
  /** So many frames disturb it. */
  readonly disturbing?: number;
}

export function makeModule(seed: number, wish: ModuleWish = {}): BenchModule {
  const random = createRandom(seed);
  const count = wish.candidates ?? 8 + random.below(53);
  const groups = 2 + random.below(6);
  const shows = {
    works: { state: 2 + random.below(3), fault: random.next() < 0.2 ? 4 : 0 },
    waits: { state: 1, fault: 0 },
    faulty: { state: 7 + random.below(3), fault: 1 << random.below(2) },
  };
  const hasFault = random.next() < 0.7;
  const frames = Array.from({ length: count }, (_, i) =>
    candidateFrame(random, i, String.fromCharCode(66 + Math.floor((i * groups) / count))),
  );
  const keys = random.shuffle(frames.map(frameKey));
  const needed = keys.splice(0, wish.needed ?? random.below(7));
  const keptAwake = wish.keptAwake ?? random.next() < 0.3;
  const hasAlternatives = wish.alternatives ?? random.next() < 0.25;
  const clauses = needed.map((key, i): Clause => ({
    anyOf: hasAlternatives && i === 0 && keys.length > 0 ? [key, keys[0] as string] : [key],
    debounceS: random.between(0.5, 8),
    keepsAwake: keptAwake && i === needed.length - 1,
  }));
  const status = statusFrame(random, shows, hasFault, random.next() < 0.5);
  const map = aMap([status, ownNetwork, ...frames], {
    part: { title: 'Charger of a harbour ferry', donor: '', notes: '' },
  });
  const plannedFrames = frames.map((frame) =>
    planned(frame, {
      reasons: reasonsFor(
        random,
        clauses.some(({ anyOf }) => anyOf.includes(frameKey(frame))),
      ),
    }),
  );
  const harmful = createRandom(seed).fork('what disturbs');
  const free = frames.map(frameKey).filter((key) => !clauses.some(({ anyOf }) => anyOf.includes(key)));
  const disturbers = harmful
    .shuffle(free)
    .slice(0, wish.disturbing ?? 0)
    .map((key): Disturber => ({ key, afterS: harmful.between(0.1, 6), putsToSleep: harmful.next() < 0.3 }));
  const latches = wish.latches ?? random.next() < 0.35;
  return {
    title: `${count} candidates, ${needed.length} needed`,
    map,
    plan: { frames: plannedFrames, captures: [], cannotBeProduced: [], open: [] },
    clauses,
    disturbers,
    latchS: latches ? random.between(10, 100) : null,
    flaky: wish.flaky ?? (random.next() < 0.4 ? 0 : random.between(0.02, 0.1)),
    lacksWire: wish.lacksWire ?? false,
    wakes: random.next() < 0.5 ? 'by-supply' : 'by-frames',
    shows,
  };
}

const satisfied = ({ anyOf }: Clause, heard: ReadonlySet<string>): boolean => anyOf.some((key) => heard.has(key));

/** Whether the set makes it work, by the truth. */
export const truly = ({ clauses, disturbers, lacksWire, wakes }: BenchModule, sent: Iterable<string>): boolean => {
  const heard = new Set(sent);
  const isAwake = wakes === 'by-supply' || heard.size > 0;
  if (disturbers.some(({ key }) => heard.has(key))) return false;
  return !lacksWire && isAwake && clauses.every((clause) => satisfied(clause, heard));
};

/** It works, and none of it can be left out: there may be more such sets than one. */
export const isMinimal = (module: BenchModule, needed: readonly string[]): boolean =>
  truly(module, needed) &&
  needed.every(
    (key) =>
      !truly(
        module,
        needed.filter((other) => other !== key),
      ),
  );

/** What happens: seconds from power-up; null where it does not. */
interface Course {
  readonly wakesS: number | null;
  readonly faultS: number | null;
  readonly sleepsS: number | null;
  readonly worksS: number | null;
}

/** A module on the bench with its memory of the trial before. */
export class ModuleOnBench {
  private wasFaulty = false;
  private readonly random: Random;
  readonly module: BenchModule;

  constructor(module: BenchModule, seed: number) {
    this.module = module;
    this.random = createRandom(seed).fork('on the bench');
  }

  private course(trial: SimulatedTrial): Course {
    const { module, random } = this;
    const heard = new Set(trial.sent.filter((key) => key !== trial.frozen));
    const missing = module.clauses.filter((clause) => !satisfied(clause, heard));
    const isFlaky = random.next() < module.flaky;
    const stays = this.wasFaulty && module.latchS !== null && trial.sleepS < module.latchS;
    if (module.wakes === 'by-frames' && trial.sent.length === 0)
      return { wakesS: null, faultS: null, sleepsS: null, worksS: null };
    const works: Course = { wakesS: WAKE_S, faultS: null, sleepsS: null, worksS: WAKE_S + random.between(0.3, 1.5) };
    if (module.lacksWire || stays) return { ...works, worksS: null, faultS: WAKE_S + 0.1 };
    const harm = module.disturbers.filter(({ key }) => heard.has(key)).toSorted((a, b) => a.afterS - b.afterS)[0];
    if (harm) {
      if (isFlaky) return works;
      const atS = WAKE_S + harm.afterS;
      return harm.putsToSleep ? { ...works, worksS: null, sleepsS: atS } : { ...works, faultS: atS };
    }
    const [first] = missing.toSorted((a, b) => a.debounceS - b.debounceS);
    if (!first && trial.stopped) {
      const left = new Set([...heard].filter((key) => key !== trial.stopped?.key));
      const lost = module.clauses.find((clause) => !satisfied(clause, left));
      return lost ? { ...works, faultS: trial.stopped.atS + lost.debounceS } : works;
    }
    if (!first) return isFlaky ? { ...works, faultS: WAKE_S + random.between(0.2, 3) } : works;
    if (isFlaky) return works;
    if (first.keepsAwake) return { ...works, worksS: null, sleepsS: WAKE_S + random.between(1, 3) };
    return { ...works, worksS: random.next() < 0.5 ? works.worksS : null, faultS: WAKE_S + first.debounceS };
  }

  /** What the logger records of one trial. */
  run(trial: SimulatedTrial): FrameTable {
    const course = this.course(trial);
    this.wasFaulty = course.faultS !== null;
    const builder = new FrameBuilder();
    const bus = builder.busIndex('can0');
    const seconds = trial.settleS * (trial.recordedShare ?? 1) * this.random.between(1, 1.1);
    const frameOf = new Map(this.module.map.frames.map((frame) => [frameKey(frame), frame]));
    for (const key of trial.sent) {
      const frame = frameOf.get(key) as MapFrame;
      const untilS = trial.stopped?.key === key ? trial.stopped.atS : seconds;
      this.send(builder, bus, frame, { fromS: 0.01, untilS, isFrozen: key === trial.frozen });
    }
    if (course.wakesS !== null) this.answer(builder, bus, course, Math.min(seconds, course.sleepsS ?? seconds));
    return builder.finish({ files: () => [], origin: () => ({ kind: 'epoch', text: '1764500000.000000' }) });
  }

  private answer(builder: FrameBuilder, bus: number, { wakesS, faultS, worksS }: Course, untilS: number): void {
    const { shows, map } = this.module;
    const from = wakesS ?? 0;
    for (const id of [STATUS, OWN_NETWORK]) {
      const frame = map.frames.find((each) => each.id === id) as MapFrame;
      this.send(builder, bus, frame, { fromS: from, untilS, isFrozen: false }, (payload, atS) => {
        if (id !== STATUS) return;
        const faulty = faultS !== null && atS >= faultS;
        const values = faulty ? shows.faulty : worksS !== null && atS >= worksS ? shows.works : shows.waits;
        payload[0] = values.state | (this.random.below(16) << 4);
        payload[1] = values.fault;
        payload[3] = this.random.below(256);
      });
    }
  }

  private send(
    builder: FrameBuilder,
    bus: number,
    frame: MapFrame,
    { fromS, untilS, isFrozen }: { fromS: number; untilS: number; isFrozen: boolean },
    change: (payload: Uint8Array, atS: number) => void = () => undefined,
  ): void {
    const slot = builder.slot(bus, idNumber(frame.id), frame.extended, false);
    const encoder: CompiledEncoder = compileEncoder(frame);
    const payload = parsePayload(frame.rest?.payload ?? '') as Uint8Array;
    const periodS = (frame.timing.periodMs ?? 100) / 1000;
    let states: CounterState[] = frame.counters.map(({ min }) => ({ value: min, sent: 0 }));
    const phase = this.random.between(0, periodS);
    for (let n = 0; fromS + phase + n * periodS < untilS; n++) {
      const atS = fromS + phase + n * periodS + this.random.between(-0.0003, 0.0003);
      change(payload, atS);
      frame.counters.forEach(({ name }, i) => encoder.writeCounter(name, (states[i] as CounterState).value, payload));
      encoder.writeChecksums(payload, 0, payload.length);
      builder.add(slot, atS * 1e6, payload, 0, payload.length, 0);
      if (!isFrozen) states = states.map((state, i) => advanceCounter(frame.counters[i] as never, state));
    }
  }
}
