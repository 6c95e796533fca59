/** What a machine's modules say: signals with their sender and role, gathered with the truths about them while the machine is put together. */
import type { Random } from '../../../src/kit/random.ts';
import type { SignalRole } from '../../../src/map/schema.ts';
import { drawBeat, heardOf, type Beat, type Pace } from './beats.ts';
import { blank, deadTime, stepsOf, type Column } from './columns.ts';
import type { Consequence, Doing, Silence, Sort, TruePair, TrueRelation, TrueSequence } from './truth.ts';

export type { Pace } from './beats.ts';

export interface Signal {
  readonly name: string;
  readonly quantity: string;
  readonly sender: string;
  readonly role: SignalRole;
  readonly kind: Sort;
  readonly unit: string;
  readonly column: Column;
  /** What it must be able to show. */
  readonly low: number;
  readonly high: number;
  /** Standard deviation of what each reading adds. */
  readonly noise: number;
  readonly pace: Pace;
  /** Physical value of one step; null: drawn. */
  readonly scale: number | null;
}

export type SignalWish = Pick<Signal, 'name' | 'sender' | 'column'> & Partial<Signal>;

export interface ActionAnswers {
  readonly direct: string[];
  readonly consequences: Consequence[];
  states: Record<string, number> | null;
}

export class Machine {
  readonly signals: Signal[] = [];
  readonly pairs: TruePair[] = [];
  readonly relations: TrueRelation[] = [];
  readonly sequences: TrueSequence[] = [];
  readonly silences: Silence[] = [];
  readonly shown = new Map<string, number>();
  readonly answers = new Map<string, ActionAnswers>();
  readonly steps: number;

  constructor(
    /** What happens by itself in this one recording. */
    readonly happenings: Random,
    /** What the machine is like in all of them. */
    private readonly nature: Random,
    readonly seconds: number,
    readonly doings: readonly Doing[],
    readonly unplugged: string | null,
  ) {
    this.steps = stepsOf(seconds);
  }

  zero(value = 0): Column {
    return blank(this.steps, value);
  }

  beatOf(sender: string, pace: Pace): Beat {
    return drawBeat(this.nature, this.happenings, sender, pace);
  }

  /** As it comes over the bus. */
  heard(column: Column, sender: string, pace: Pace): Column {
    return heardOf(column, this.beatOf(sender, pace));
  }

  isThere(module: string): boolean {
    return module !== this.unplugged;
  }

  silencesOf(module: string): Silence[] {
    return this.silences.filter((silence) => silence.module === module);
  }

  doingsOf(action: string): Doing[] {
    return this.doings.filter((doing) => doing.action === action);
  }

  add(wish: SignalWish): Column {
    const kind = wish.kind ?? 'number';
    const [low, high] = kind === 'flag' ? [0, 1] : [0, 100];
    const rest = { quantity: wish.name, role: 'unknown', unit: '', low, high, noise: 0, pace: 'medium' } as const;
    this.signals.push({ ...rest, scale: null, ...wish, kind });
    return wish.column;
  }

  /** Another module says it again, a little later. */
  copy(name: string, sender: string, lateS: number, changed: Partial<Signal> = {}): void {
    const own = this.signal(name);
    const column = this.isThere(own.sender) ? deadTime(own.column, lateS) : this.zero(own.column[0]);
    this.add({ ...own, noise: 0, column, name: `${sender} ${name}`, sender, role: 'echo', ...changed });
  }

  signal(name: string): Signal {
    const found = this.signals.find((signal) => signal.name === name);
    if (!found) throw new Error(`no signal ${name}`);
    return found;
  }

  answersOf(action: string): ActionAnswers {
    const known = this.answers.get(action) ?? { direct: [], consequences: [], states: null };
    this.answers.set(action, known);
    return known;
  }

  answer(action: string, direct: readonly string[], consequences: readonly (readonly [string, number])[] = []): void {
    const known = this.answersOf(action);
    known.direct.push(...direct);
    known.consequences.push(...consequences.map(([signal, lagS]) => ({ signal, lagS })));
  }
}
