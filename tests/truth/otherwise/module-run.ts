/**
 * A module while the vehicle runs: it boots, its tasks come round on its own clock, wait for the processor, and hand over the frames
 * that are due, one after the other; it follows modes, falls asleep, may be reset. It knows the others only by what it hears.
 */
import type { Random } from '../../../src/kit/random.ts';
import type { Agenda } from './agenda.ts';
import type { Controller, Wire } from './controller.ts';
import type { Heard, MessageRun } from './message-run.ts';
import type { Oscillator } from './oscillator.ts';
import type { MessagePlan, Mode, ModulePlan, TaskPlan, Trigger } from './plan.ts';

export interface Surroundings {
  readonly agenda: Agenda;
  readonly wires: readonly Wire[];
  readonly heard: Heard;
  /** Modules that are unplugged. */
  readonly absent: ReadonlySet<number>;
}

interface Passing {
  readonly message: number;
  readonly payload: Uint8Array | null;
}

const exponential = (random: Random, mean: number): number => -mean * Math.log(1 - random.next());

export class ModuleRun {
  awake = false;
  mode: Mode = 'asleep';
  bootedUs = 0;
  /** Tells what was scheduled before a reset or a sleep from what is valid now. */
  private life = 0;
  private processorFreeUs = 0;
  private readonly passing: Passing[][];
  /** Messages that a task looks after. */
  private readonly byTask: (readonly [number, MessageRun])[][];
  readonly onBoot: ((nowUs: number) => void)[] = [];

  constructor(
    readonly plan: ModulePlan,
    readonly clock: Oscillator,
    /** Its messages by their number in the vehicle. */
    private readonly messages: ReadonlyMap<number, MessageRun>,
    private readonly controllers: ReadonlyMap<number, Controller>,
    private readonly around: Surroundings,
    private readonly random: Random,
  ) {
    this.passing = plan.tasks.map(() => []);
    this.byTask = plan.tasks.map((_, place) =>
      [...messages].filter(([, { plan: own }]) => 'task' in own.trigger && own.trigger.task === place),
    );
  }

  boot(nowUs: number, mode: Mode, wasRunning: boolean): void {
    this.life++;
    this.awake = true;
    this.mode = mode;
    // One that was running had its start long ago: its tasks come round at any phase.
    this.bootedUs = wasRunning ? nowUs - this.random.between(20e6, 90e6) : nowUs;
    this.processorFreeUs = nowUs;
    if (!wasRunning) for (const message of this.messages.values()) message.restart();
    this.plan.tasks.forEach((task, place) => this.comeRound(task, place, this.firstTurn(task, nowUs)));
    for (const [number, { plan }] of this.messages) this.startTimer(number, plan.trigger, nowUs, wasRunning);
    for (const act of this.onBoot) act(nowUs);
  }

  stop(): void {
    this.life++;
    this.awake = false;
    this.mode = 'asleep';
    for (const list of this.passing) list.length = 0;
    for (const controller of this.controllers.values()) controller.clear();
  }

  /** Hands a frame over now; `write` may change the payload, `payload` replaces it. */
  ask(message: number, nowUs: number, payload: Uint8Array | null = null, write?: (payload: Uint8Array) => void): void {
    const run = this.messages.get(message) as MessageRun;
    const { without, bus } = run.plan;
    const lost = without && this.around.absent.has(without.module) ? without.loss : null;
    const own = payload ?? run.build(nowUs, this.mode, this.around.heard, lost, nowUs - this.bootedUs);
    write?.(own);
    run.lastAskedUs = nowUs;
    (this.around.wires[bus] as Wire).ask(this.controllers.get(bus) as Controller, message, own, nowUs);
  }

  /** Does something after so long by its own clock, unless it is reset or asleep by then. */
  after(nowUs: number, ownUs: number, act: (nowUs: number) => void): void {
    const { life } = this;
    const dueUs = this.clock.trueUs(this.clock.ownUs(nowUs) + ownUs);
    this.around.agenda.at(dueUs, (now) => {
      if (this.life === life) act(now);
    });
  }

  /** To be sent when the task next comes round. */
  pass(task: number, message: number, payload: Uint8Array | null): void {
    this.passing[task]?.push({ message, payload });
  }

  private firstTurn({ periodUs, phaseUs }: TaskPlan, nowUs: number): number {
    const sinceUs = this.clock.ownUs(nowUs) - this.clock.ownUs(this.bootedUs);
    return Math.max(0, Math.ceil((sinceUs - phaseUs) / periodUs));
  }

  private comeRound(task: TaskPlan, place: number, turn: number): void {
    const { life } = this;
    const dueUs = this.clock.trueUs(this.clock.ownUs(this.bootedUs) + task.phaseUs + turn * task.periodUs);
    this.around.agenda.at(dueUs, (now) => {
      if (this.life !== life) return;
      this.runTask(place, turn, now);
      this.comeRound(task, place, turn + 1);
    });
  }

  private runTask(place: number, turn: number, nowUs: number): void {
    const due = this.takeDue(place, turn, nowUs);
    if (due.length === 0) return;
    const { lateUs, heldShare, heldUs, workUs } = this.plan;
    const held = this.random.next() < heldShare ? this.random.next() * heldUs : 0;
    let atUs = Math.max(nowUs, this.processorFreeUs) + exponential(this.random, lateUs) + held;
    const { life } = this;
    for (const { message, payload } of due) {
      atUs += workUs * this.random.between(0.7, 1.3);
      this.around.agenda.at(atUs, (now) => {
        if (this.life === life) this.ask(message, now, payload);
      });
    }
    this.processorFreeUs = atUs;
  }

  private takeDue(place: number, turn: number, nowUs: number): Passing[] {
    const passing = this.passing[place] as Passing[];
    const due = passing.length > 0 ? passing.splice(0) : [];
    for (const [message, run] of this.byTask[place] ?? []) {
      const { trigger } = run.plan;
      const isDue =
        trigger.by === 'task'
          ? this.isTurn(run.plan, trigger, turn)
          : trigger.by === 'change' && this.hasNews(run, trigger, turn, nowUs);
      if (isDue) due.push({ message, payload: null });
    }
    return due;
  }

  private isTurn({ without }: MessagePlan, trigger: Trigger & { by: 'task' }, turn: number): boolean {
    let every = trigger.inMode?.[this.mode] ?? trigger.every;
    if (without && this.around.absent.has(without.module)) {
      if (without.loss === 'stops') return false;
      if (without.loss === 'slows') every *= without.every;
    }
    return every > 0 && turn % every === trigger.at % every;
  }

  private hasNews(run: MessageRun, trigger: Trigger & { by: 'change' }, turn: number, nowUs: number): boolean {
    const changes = run.changesBy(nowUs);
    if (changes !== run.told && nowUs - run.lastAskedUs >= trigger.gapUs) {
      const first = run.told < 0;
      run.told = changes;
      run.repeats = first ? 0 : trigger.times - 1;
      run.wait = run.repeats > 0 ? trigger.timesEvery : trigger.slowEvery;
      return true;
    }
    if (run.repeats > 0) {
      if (--run.wait > 0) return false;
      run.repeats--;
      run.wait = run.repeats > 0 ? trigger.timesEvery : trigger.slowEvery;
      return true;
    }
    if (trigger.slowEvery === 0) return false;
    if (!trigger.restarts) return turn % trigger.slowEvery === 0;
    if (--run.wait > 0) return false;
    run.wait = trigger.slowEvery;
    return true;
  }

  private startTimer(message: number, trigger: Trigger, nowUs: number, wasRunning: boolean): void {
    if (trigger.by === 'own timer') {
      this.runOwnTimer(message, trigger.periodUs, nowUs, wasRunning ? this.random.next() * trigger.periodUs : 0);
    } else if (trigger.by === 'whim') this.runWhim(message, trigger.meanUs, nowUs);
    else if (trigger.by === 'keep awake') this.runKeepAwake(message, trigger, nowUs, wasRunning);
  }

  private runOwnTimer(message: number, periodUs: number, nowUs: number, waitUs: number): void {
    this.after(nowUs, waitUs, (dueUs) => {
      const lateUs = exponential(this.random, this.plan.lateUs) + this.plan.workUs;
      this.after(dueUs, lateUs, (now) => {
        this.ask(message, now);
        this.runOwnTimer(message, periodUs, now, periodUs);
      });
    });
  }

  private runWhim(message: number, meanUs: number, nowUs: number): void {
    this.after(nowUs, 20_000 + exponential(this.random, meanUs), (now) => {
      this.ask(message, now);
      this.runWhim(message, meanUs, now);
    });
  }

  private runKeepAwake(
    message: number,
    trigger: Trigger & { by: 'keep awake' },
    nowUs: number,
    wasRunning: boolean,
  ): void {
    const { hurryTimes, hurryUs, periodUs } = trigger;
    const ownBoot = this.clock.ownUs(nowUs);
    const dueOf = (n: number): number =>
      n < hurryTimes ? n * hurryUs : Math.max(0, hurryTimes - 1) * hurryUs + (n - hurryTimes + 1) * periodUs;
    const next = (n: number, now: number): void => {
      this.after(now, Math.max(0, ownBoot + dueOf(n) - this.clock.ownUs(now)), (due) => {
        if (this.mode === 'shutting down') return;
        this.after(due, exponential(this.random, this.plan.lateUs), (at) => this.ask(message, at));
        next(n + 1, due);
      });
    };
    next(wasRunning ? hurryTimes : 0, nowUs);
  }
}
