/** Runs a vehicle through its modes: boots and stops its modules, lets frames that were heard cause others, and keeps what ended on the wires. */
import { createRandom } from '../../../src/kit/random.ts';
import { Agenda } from './agenda.ts';
import { Controller, Wire, type WireFrame } from './controller.ts';
import { MessageRun } from './message-run.ts';
import { ModuleRun, type Surroundings } from './module-run.ts';
import { makeOscillator } from './oscillator.ts';
import type { ModeSpan, ModulePlan, Trigger, VehiclePlan } from './plan.ts';
import { Ring } from './ring.ts';

/** It runs unrecorded so long, for queues and phases to be as they usually are. */
const BEFORE_US = 3e6;

export interface Reset {
  readonly module: number;
  readonly atUs: number;
  readonly forUs: number;
}

export interface RunWish {
  readonly modes: readonly ModeSpan[];
  readonly take?: number;
  readonly absent?: readonly number[];
  /** A module stops for some time and starts anew. */
  readonly resets?: readonly Reset[];
  /** Share of frames destroyed on the wire and sent again. */
  readonly errorShare?: number;
}

export interface Happened {
  /** In order of their end, per bus and over all. */
  readonly frames: readonly WireFrame[];
  readonly errors: readonly { readonly bus: number; readonly atUs: number }[];
  readonly boots: readonly { readonly module: number; readonly atUs: number }[];
  /** Frames that never reached the wire because a newer one took their place or no place was left. */
  readonly dropped: number;
}

export function runVehicle(plan: VehiclePlan, wish: RunWish): Happened {
  const run = new VehicleRun(plan, wish);
  return run.all();
}

class VehicleRun {
  private readonly random;
  private readonly agenda = new Agenda();
  private readonly frames: WireFrame[] = [];
  private readonly boots: { module: number; atUs: number }[] = [];
  private readonly lasts: (Uint8Array | null)[];
  private readonly wires: Wire[];
  private readonly controllers: Controller[] = [];
  private readonly modules: ModuleRun[];
  private readonly listeners: ((payload: Uint8Array, nowUs: number) => void)[][];
  private readonly absent: ReadonlySet<number>;

  constructor(
    private readonly plan: VehiclePlan,
    private readonly wish: RunWish,
  ) {
    this.random = createRandom(plan.seed).fork(`run ${wish.take ?? 0}`);
    this.absent = new Set(wish.absent ?? []);
    this.lasts = plan.messages.map(() => null);
    this.listeners = plan.messages.map(() => []);
    this.wires = plan.buses.map(
      (bus, place) =>
        new Wire(bus, place, plan.messages, this.agenda, this.random.fork(`wire ${place}`), wish.errorShare ?? 0, (f) =>
          this.onWire(f),
        ),
    );
    const around: Surroundings = {
      agenda: this.agenda,
      wires: this.wires,
      heard: { last: (message) => this.lasts[message] ?? null },
      absent: this.absent,
    };
    this.modules = plan.modules.map((module, place) => this.makeModule(module, place, around));
    this.listen();
  }

  all(): Happened {
    const { modes } = this.wish;
    const endUs = (modes[modes.length - 1] as ModeSpan).toUs;
    modes.forEach((span, place) => {
      if (place === 0) this.agenda.at(-BEFORE_US, (now) => this.enter(span, now, true));
      else this.agenda.at(span.fromUs, (now) => this.enter(span, now, false));
    });
    for (const { module, atUs, forUs } of this.wish.resets ?? []) {
      this.agenda.at(atUs, () => this.module(module).stop());
      this.agenda.at(atUs + forUs, (now) => this.boot(module, modeAt(modes, now), now, false));
    }
    this.agenda.runUntil(endUs);
    const inside = this.frames.filter((frame) => frame.endUs >= 0);
    const errors = this.wires.flatMap((wire, bus) =>
      wire.errorsUs.filter((atUs) => atUs >= 0).map((atUs) => ({ bus, atUs })),
    );
    const dropped = this.controllers.reduce((sum, controller) => sum + controller.dropped, 0);
    return { frames: inside, errors, boots: this.boots, dropped };
  }

  private module(place: number): ModuleRun {
    return this.modules[place] as ModuleRun;
  }

  private makeModule(module: ModulePlan, place: number, around: Surroundings): ModuleRun {
    const own = this.plan.messages
      .map((message, number) => ({ message, number }))
      .filter(({ message }) => message.module === place);
    const random = this.random.fork(`module ${place}`);
    const messages = new Map(
      own.map(({ message, number }) => [number, new MessageRun(message, random.fork(`message ${number}`))]),
    );
    const controllers = new Map<number, Controller>();
    for (const bus of new Set(own.map(({ message }) => message.bus))) {
      const controller = new Controller(module.waiting, module.waiting === 'queue' ? module.depth : 64);
      controllers.set(bus, controller);
      this.controllers.push(controller);
      (this.wires[bus] as Wire).controllers.push(controller);
    }
    const clock = makeOscillator(module.oscillator, createRandom(this.plan.seed).fork(`clock ${place}`));
    return new ModuleRun(module, clock, messages, controllers, around, random);
  }

  private listen(): void {
    this.plan.messages.forEach(({ trigger, module }, number) => {
      if (trigger.by === 'copy')
        this.onHearing(trigger.of, (payload, now) => this.copy(number, module, trigger, payload, now));
      if (trigger.by === 'request') this.onHearing(trigger.of, (_, now) => this.answer(number, module, trigger, now));
    });
    this.plan.rings.forEach((ring, place) => {
      const modules = ring.messages.map((number) => this.module(this.plan.messages[number]?.module as number));
      const running = new Ring(
        ring,
        modules,
        this.random.fork(`ring ${place}`),
        ({ mode }) => mode !== 'shutting down',
      );
      for (const number of ring.messages) this.onHearing(number, (payload, now) => running.hear(payload, now));
    });
  }

  private onHearing(message: number, act: (payload: Uint8Array, nowUs: number) => void): void {
    this.listeners[message]?.push(act);
  }

  private onWire(frame: WireFrame): void {
    this.frames.push(frame);
    this.lasts[frame.message] = frame.payload;
    for (const act of this.listeners[frame.message] ?? []) act(frame.payload, frame.endUs);
  }

  private copy(
    number: number,
    place: number,
    trigger: Trigger & { by: 'copy' },
    payload: Uint8Array,
    nowUs: number,
  ): void {
    const module = this.module(place);
    if (!module.awake) return;
    if (trigger.task >= 0) module.pass(trigger.task, number, payload);
    else {
      const delayUs = trigger.delayUs * (1 + 0.2 * Math.abs(this.random.normal()));
      module.after(nowUs, delayUs, (now) => module.ask(number, now, payload));
    }
  }

  private answer(number: number, place: number, trigger: Trigger & { by: 'request' }, nowUs: number): void {
    const module = this.module(place);
    if (!module.awake || this.random.next() >= trigger.answeredShare) return;
    const delayUs = trigger.delayUs + trigger.scatterUs * Math.abs(this.random.normal());
    for (let i = 0; i < trigger.frames; i++) {
      module.after(nowUs, delayUs + i * trigger.apartUs, (now) => {
        if (trigger.task >= 0) module.pass(trigger.task, number, null);
        else module.ask(number, now);
      });
    }
  }

  private enter(span: ModeSpan, nowUs: number, first: boolean): void {
    this.plan.modules.forEach((plan, place) => {
      if (this.absent.has(place)) return;
      const module = this.module(place);
      const wanted = plan.awakeIn.includes(span.mode);
      if (wanted && !module.awake) this.wake(place, span, nowUs, first);
      else if (wanted) module.after(nowUs, plan.followsUs, () => (module.mode = span.mode));
      else if (module.awake) {
        module.mode = 'shutting down';
        const stopUs = nowUs + plan.lingerUs;
        this.agenda.at(stopUs, (now) => {
          if (!plan.awakeIn.includes(modeAt(this.wish.modes, now))) module.stop();
        });
      }
    });
  }

  private wake(place: number, span: ModeSpan, nowUs: number, first: boolean): void {
    if (first) return this.boot(place, span.mode, nowUs, true);
    const plan = this.plan.modules[place] as ModulePlan;
    const bootUs = plan.bootUs * this.random.between(0.97, 1.04);
    this.agenda.at(nowUs + bootUs, (now) => {
      const mode = modeAt(this.wish.modes, now);
      if (plan.awakeIn.includes(mode) && !this.module(place).awake) this.boot(place, mode, now, false);
    });
  }

  private boot(place: number, mode: ModeSpan['mode'], nowUs: number, wasRunning: boolean): void {
    const plan = this.plan.modules[place] as ModulePlan;
    if (this.absent.has(place) || !plan.awakeIn.includes(mode)) return;
    if (!wasRunning) this.boots.push({ module: place, atUs: nowUs });
    this.module(place).boot(nowUs, mode, wasRunning);
  }
}

export const modeAt = (modes: readonly ModeSpan[], atUs: number): ModeSpan['mode'] =>
  (modes.find(({ toUs }) => atUs < toUs) ?? (modes[modes.length - 1] as ModeSpan)).mode;
