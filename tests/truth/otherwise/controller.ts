/** Frames that wait inside a module for the wire, by three disciplines; and the wire, on which the lowest identifier of all that are offered goes first. */
import type { Random } from '../../../src/kit/random.ts';
import type { Agenda } from './agenda.ts';
import { arbitrationRank, BETWEEN_FRAMES, classicalFrameBits } from './bit-count.ts';
import type { BusPlan, MessagePlan, Waiting } from './plan.ts';

export interface Asked {
  readonly message: number;
  readonly rank: number;
  readonly payload: Uint8Array;
  readonly askedUs: number;
}

export class Controller {
  private waiting: Asked[] = [];
  private buffer: Asked | null = null;
  /** Frames that were replaced or found the queue full: they never reach the wire. */
  dropped = 0;

  constructor(
    private readonly kind: Waiting,
    private readonly depth: number,
  ) {}

  offer(asked: Asked): void {
    const same = this.kind === 'queue' ? -1 : this.placeOf(asked.message);
    if (same >= 0) {
      this.waiting[same] = asked;
      this.dropped++;
    } else if (this.waiting.length >= this.depth) this.dropped++;
    else this.waiting.push(asked);
    if (this.kind === 'one buffer' && !this.buffer) this.buffer = this.removeLowest();
  }

  /** What it puts forward when the wire falls idle. */
  head(): Asked | null {
    if (this.waiting.length === 0) return this.buffer;
    if (this.kind === 'queue') return this.waiting[0] ?? null;
    if (this.kind === 'one buffer') return this.buffer;
    return this.waiting[this.lowest()] ?? null;
  }

  /** The head has the wire. */
  take(): void {
    if (this.kind === 'queue') this.waiting.shift();
    else if (this.kind === 'one buffer') this.buffer = this.removeLowest();
    else this.waiting.splice(this.lowest(), 1);
  }

  clear(): void {
    this.waiting = [];
    this.buffer = null;
  }

  private placeOf(message: number): number {
    for (let i = 0; i < this.waiting.length; i++) if (this.waiting[i]?.message === message) return i;
    return -1;
  }

  private lowest(): number {
    let best = 0;
    for (let i = 1; i < this.waiting.length; i++) {
      if ((this.waiting[i] as Asked).rank < (this.waiting[best] as Asked).rank) best = i;
    }
    return best;
  }

  private removeLowest(): Asked | null {
    return this.waiting.splice(this.lowest(), 1)[0] ?? null;
  }
}

/** A frame that got through: when it began and ended, when it was asked for. */
export interface WireFrame extends Asked {
  readonly bus: number;
  readonly startUs: number;
  readonly endUs: number;
}

export class Wire {
  private busy = false;
  readonly controllers: Controller[] = [];
  readonly errorsUs: number[] = [];

  constructor(
    readonly plan: BusPlan,
    private readonly place: number,
    private readonly messages: readonly MessagePlan[],
    private readonly agenda: Agenda,
    private readonly random: Random,
    private readonly errorShare: number,
    private readonly done: (frame: WireFrame) => void,
  ) {}

  rankOf(message: number): number {
    const { id, extended } = this.messages[message] as MessagePlan;
    return arbitrationRank(id, extended);
  }

  ask(controller: Controller, message: number, payload: Uint8Array, nowUs: number): void {
    controller.offer({ message, rank: this.rankOf(message), payload, askedUs: nowUs });
    if (!this.busy) this.begin(nowUs);
  }

  private begin(nowUs: number): void {
    let winner: Controller | null = null;
    let least = Infinity;
    for (const controller of this.controllers) {
      const head = controller.head();
      if (head && head.rank < least) {
        least = head.rank;
        winner = controller;
      }
    }
    if (!winner) return;
    this.busy = true;
    const asked = winner.head() as Asked;
    const { id, extended } = this.messages[asked.message] as MessagePlan;
    const wireUs = (classicalFrameBits(id, extended, asked.payload) / this.plan.bitrate) * 1e6;
    const bitUs = 1e6 / this.plan.bitrate;
    if (this.errorShare > 0 && this.random.next() < this.errorShare) return this.fail(nowUs, wireUs, bitUs);
    winner.take();
    const idleUs = nowUs + wireUs;
    this.agenda.at(idleUs, (now) => {
      this.busy = false;
      const { message, rank, payload, askedUs } = asked;
      const endUs = idleUs - BETWEEN_FRAMES * bitUs;
      this.done({ message, rank, payload, askedUs, bus: this.place, startUs: nowUs, endUs });
      if (!this.busy) this.begin(now);
    });
  }

  /** Destroyed on the way: six to twelve bits of error flag, a delimiter of eight; then it is tried again. */
  private fail(nowUs: number, wireUs: number, bitUs: number): void {
    const flagUs = nowUs + wireUs * this.random.between(0.1, 0.9) + (6 + this.random.below(7) + 8) * bitUs;
    this.errorsUs.push(flagUs);
    this.agenda.at(flagUs + BETWEEN_FRAMES * bitUs, (now) => {
      this.busy = false;
      this.begin(now);
    });
  }
}
