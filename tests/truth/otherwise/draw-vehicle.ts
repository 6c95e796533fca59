/** Draws a whole vehicle from a wish: messages are added to modules until the wire is as full as wanted. All names and layouts are invented. */
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { worstCaseBits } from '../../../src/frames/wire.ts';
import { drawChanges, drawMessage, drawOnChange, drawOnTask, withLoss, type Place } from './draw-messages.ts';
import { drawModules } from './draw-modules.ts';
import type { BusPlan, MessagePlan, ModulePlan, RingPlan, TaskPlan, Trigger, VehiclePlan } from './plan.ts';
import type { TrafficWish } from './wish.ts';

const BITRATES = [125_000, 250_000, 500_000, 500_000, 500_000, 1_000_000];
/** By bus. */
const MESSAGES_MOST = 50;

export function drawVehicle(wish: TrafficWish): VehiclePlan {
  return new VehicleDraw(wish).draw();
}

class VehicleDraw {
  private readonly random: Random;
  private readonly buses: readonly BusPlan[];
  private readonly modules: readonly ModulePlan[];
  private readonly homes: readonly number[];
  private readonly messages: MessagePlan[] = [];
  private readonly rings: RingPlan[] = [];
  private readonly used = new Set<string>();
  private readonly loads: number[];
  private readonly most: readonly number[];

  constructor(private readonly wish: TrafficWish) {
    this.random = createRandom(wish.seed).fork('another vehicle');
    const { random } = this;
    this.buses = Array.from({ length: wish.buses ?? 1 }, (_, place) => ({
      name: `bus${place}`,
      bitrate: wish.bitrates?.[place] ?? random.pick(BITRATES),
    }));
    const count = wish.modules ?? (wish.buses === 2 ? 8 + random.below(5) : 5 + random.below(5));
    const leastMs = Math.min(...this.buses.map(({ bitrate }) => bitrate)) < 200_000 ? 20 : 5;
    this.modules = drawModules(random.fork('modules'), wish, count, leastMs);
    this.homes = this.modules.map((_, place) => place % this.buses.length);
    this.loads = this.buses.map(() => 0);
    this.most = this.buses.map(() => wish.load ?? random.between(0.2, 0.5));
  }

  draw(): VehiclePlan {
    const { random, buses, modules, messages, rings, wish } = this;
    this.drawOwn();
    const talks = Math.round((1 - (wish.plain ?? 0.7)) * 10);
    for (let i = 0; i < talks; i++) this.drawTalk();
    buses.forEach((_, bus) => this.drawNetwork(bus));
    if (buses.length > 1) this.drawCopies();
    const reacting = random.fork('losses');
    const all = messages.map((message) =>
      reacting.next() < 0.3 && message.trigger.by !== 'copy' ? withLoss(reacting, message, modules.length) : message,
    );
    return { seed: wish.seed, buses, modules, messages: this.withEchoes(all), rings };
  }

  private place(module: number, bus = this.homes[module] as number, urgency = this.random.next()): Place {
    const extended = this.random.next() < (this.wish.extended ?? 0.1);
    for (;;) {
      const id = extended
        ? 2 ** 28 * Math.round(urgency) + this.random.below(2 ** 28)
        : Math.floor(0x60 + 0x600 * Math.min(0.99, 0.7 * urgency + 0.3 * this.random.next()));
      const key = `${bus} ${id} ${extended}`;
      if (this.used.has(key)) continue;
      this.used.add(key);
      return { bus, module, id, extended };
    }
  }

  /** False where the wire has no room for it. */
  private add(message: MessagePlan, periodUs: number): boolean {
    const { bitrate } = this.buses[message.bus] as BusPlan;
    const share = (0.9 * worstCaseBits(message.length, message.extended) * 1e6) / bitrate / periodUs;
    if ((this.loads[message.bus] as number) + share > (this.most[message.bus] as number)) return false;
    this.loads[message.bus] = (this.loads[message.bus] as number) + share;
    this.messages.push(message);
    return true;
  }

  private drawOwn(): void {
    const { random, modules } = this;
    const habits = modules.map((_, module) => ({
      // A quicker wire carries more.
      wanted:
        (2 + random.below(9)) * Math.sqrt((this.buses[this.homes[module] as number] as BusPlan).bitrate / 250_000),
      staggered: random.next() < 0.5,
      timers: random.next() < 0.25 ? 0.6 : 0,
      plain: random.next() < 0.3 ? 1 : (this.wish.plain ?? 0.7),
      byRate: random.next() < 0.6,
    }));
    for (let turn = 0; turn < 20; turn++) {
      habits.forEach(({ wanted, staggered, timers, plain, byRate }, module) => {
        if (turn >= wanted || this.messages.length >= MESSAGES_MOST * this.buses.length) return;
        const other = random.next() >= plain;
        if (other) this.drawEvent(module);
        else this.drawPeriodic(module, staggered, random.next() < timers, byRate);
      });
    }
  }

  private drawPeriodic(place: number, staggered: boolean, timer: boolean, byRate: boolean): void {
    const { random } = this;
    const module = this.modules[place] as ModulePlan;
    const byMode = this.wish.steady === false && random.next() < 0.25;
    const onTask = drawOnTask(random, module, staggered, byMode);
    const periodUs = (module.tasks[onTask.task] as TaskPlan).periodUs * onTask.every;
    const trigger: Trigger = timer ? { by: 'own timer', periodUs } : onTask;
    const urgency = byRate ? Math.min(1, Math.log10(periodUs / 4000) / 2.5) : random.next();
    const changes = random.next() < 0.3 ? this.changes(8) : [];
    this.add(drawMessage(random, this.place(place, undefined, urgency), trigger, changes), periodUs);
  }

  private drawEvent(place: number): void {
    const trigger = drawOnChange(this.random, this.modules[place] as ModulePlan);
    const changes = this.changes(this.random.pick([1, 3, 8, 20]));
    this.add(drawMessage(this.random, this.place(place), trigger, changes), 300_000);
  }

  private changes(meanS: number): number[] {
    // Apart from the other draws: the vehicle is the same whatever is done with it, and for how long.
    const random = createRandom(this.wish.seed).fork(`changes ${this.wish.take ?? 0} ${this.messages.length}`);
    return drawChanges(random, this.wish.durationS * 1e6, meanS);
  }

  /** One module asks, another on the same bus answers. */
  private drawTalk(): void {
    const { random } = this;
    const asker = random.below(this.modules.length);
    const bus = this.homes[asker] as number;
    const others = this.modules.map((_, module) => module).filter((m) => m !== asker && this.homes[m] === bus);
    if (others.length === 0) return;
    const answerer = random.pick(others);
    const asks = this.drawAsking(asker);
    if (!this.add(drawMessage(random, this.place(asker), asks.trigger, []), asks.periodUs)) return;
    const of = this.messages.length - 1;
    const atTask = random.next() < 0.25;
    const quick = (this.modules[answerer] as ModulePlan).tasks.findIndex(({ periodUs }) => periodUs <= 21_000);
    const trigger: Trigger = {
      by: 'request',
      of,
      delayUs: 500 * 30 ** random.next(),
      scatterUs: random.between(20, 800),
      task: atTask ? quick : -1,
      answeredShare: random.next() < 0.5 ? 1 : random.between(0.7, 0.99),
      frames: random.next() < 0.2 ? 3 : 1,
      apartUs: random.between(1000, 8000),
    };
    this.add(drawMessage(random, this.place(answerer), trigger, []), asks.periodUs);
  }

  private drawAsking(asker: number): { readonly trigger: Trigger; readonly periodUs: number } {
    const { random } = this;
    if (random.next() < 0.35) {
      const meanUs = random.between(0.3, 3) * 1e6;
      return { trigger: { by: 'whim', meanUs }, periodUs: meanUs };
    }
    const module = this.modules[asker] as ModulePlan;
    const onTask = drawOnTask(random, module, true, false);
    const own = (module.tasks[onTask.task] as TaskPlan).periodUs;
    const every = Math.max(onTask.every, Math.ceil(50_000 / own));
    return { trigger: { ...onTask, every, at: random.below(every) }, periodUs: every * own };
  }

  private drawNetwork(bus: number): void {
    const { random } = this;
    const own = this.modules.map((_, module) => module).filter((module) => this.homes[module] === bus);
    const draw = random.next();
    if (draw < 0.35 && own.length >= 3) this.drawRing(bus, own);
    else if (draw < 0.7) this.drawKeepAwake(bus, own);
  }

  private drawRing(bus: number, own: readonly number[]): void {
    const base = this.messages.length;
    const from = 0x600 + 0x40 * bus;
    const messages = own.map((module, node): MessagePlan => {
      const trigger: Trigger = { by: 'ring', ring: this.rings.length, node };
      const place = { bus, module, id: from + node, extended: false };
      const drawn = drawMessage(this.random.fork(`node ${bus} ${node}`), place, trigger, []);
      return { ...drawn, length: 8, still: [0, 0, 0, 0, 0, 0, 0, 0], items: [] };
    });
    this.messages.push(...messages);
    this.rings.push({ bus, passUs: this.random.between(80_000, 120_000), messages: own.map((_, i) => base + i) });
  }

  private drawKeepAwake(bus: number, own: readonly number[]): void {
    const { random } = this;
    const periodUs = random.pick([500, 640, 1000]) * 1000;
    const hurry = { hurryTimes: 3 + random.below(4), hurryUs: random.pick([20, 50]) * 1000 };
    own.forEach((module, node) => {
      const trigger: Trigger = { by: 'keep awake', periodUs, ...hurry };
      const place = { bus, module, id: 0x680 + 0x20 * bus + node, extended: false };
      const still = [node, 0x40, 1 << (module % 8), 0, 0xff, 0xff, 0xff, 0xff];
      this.messages.push({ ...drawMessage(random, place, trigger, []), length: 8, still, items: [] });
    });
  }

  /** The first module stands on both buses and passes frames on, both ways. */
  private drawCopies(): void {
    const { random } = this;
    const sources = this.messages
      .map((message, number) => ({ message, number }))
      .filter(({ message }) => ['task', 'own timer', 'change'].includes(message.trigger.by) && message.module !== 0);
    for (const { message, number } of random.shuffle(sources).slice(0, 4 + random.below(7))) {
      const bus = 1 - message.bus;
      const quick = (this.modules[0] as ModulePlan).tasks.findIndex(({ periodUs }) => periodUs <= 11_000);
      const task = random.next() < 0.4 ? quick : -1;
      const renamed = random.next() < 0.3 || this.used.has(`${bus} ${message.id} ${message.extended}`);
      const place = renamed ? this.place(0, bus) : { bus, module: 0, id: message.id, extended: message.extended };
      this.used.add(`${bus} ${place.id} ${place.extended}`);
      const trigger: Trigger = { by: 'copy', of: number, delayUs: random.between(80, 900), task };
      this.add({ ...message, ...place, trigger, without: null }, this.periodOf(message));
    }
  }

  private periodOf({ trigger, module }: MessagePlan): number {
    if (trigger.by === 'own timer') return trigger.periodUs;
    if (trigger.by !== 'task') return 500_000;
    return trigger.every * ((this.modules[module] as ModulePlan).tasks[trigger.task] as TaskPlan).periodUs;
  }

  /** Some bytes say again what another module has said. */
  private withEchoes(messages: readonly MessagePlan[]): MessagePlan[] {
    const random = this.random.fork('echoes');
    return messages.map((message) => {
      const place = message.items.findIndex((item) => item.is === 'value');
      const item = message.items[place];
      if (item?.is !== 'value' || random.next() > 0.15) return message;
      const of = random.below(messages.length);
      const source = messages[of] as MessagePlan;
      if (source.module === message.module || source.bus !== message.bus || source.length < 3) return message;
      const items = [...message.items];
      items[place] = { is: 'echo', byte: item.byte, of, from: random.below(source.length - 1), bytes: item.bytes };
      return { ...message, items };
    });
  }
}
