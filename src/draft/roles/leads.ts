/** What goes before a number, at least roughly the same way: so loosely it commands nothing, but shows that the number does not move by itself. */
import type { LagFit } from './lag-fit.ts';
import type { Looks } from './looks.ts';
import { nearness } from './nearness.ts';
import type { Prepared } from './prepared.ts';
import type { Best } from './tie.ts';

const LED_NEAR = 0.5;
const LED_OPEN = 0.5;
const LED_LAG_US = 8000;
const TWINS = 0.95;
const TWINS_MOST = 3;

/** What goes before a field, or before its size, at least roughly the same way. */
export interface Led {
  readonly leader: Prepared;
  /** The field itself, or its size. */
  readonly led: Prepared;
  readonly best: Best;
}

export class Leads {
  constructor(
    private readonly lagFit: LagFit,
    private readonly looks: Looks,
  ) {}

  /** Whether any of the others goes before the field, before its size, or before what its sender shows that goes with it all along: at least roughly the same way. */
  isLed(field: Prepared, others: readonly Prepared[]): boolean {
    const twins = others
      .filter(
        (other) =>
          other !== field && other.sender !== null && other.sender === field.sender && nearness(other, field) >= TWINS,
      )
      .slice(0, TWINS_MOST);
    // What the field itself leads is no proof that it is led.
    const apart = others.filter((other) => other !== field && !twins.includes(other));
    return this.isLedItself(field, others) || twins.some((twin) => this.isLedItself(twin, apart));
  }

  private isLedItself(field: Prepared, others: readonly Prepared[]): boolean {
    return [field, this.looks.sizeOf(field)].some((led) => others.some((other) => this.leadsTo(other, led) !== null));
  }

  /** What goes before the field or its size leaving least open: the field's part that is led, and how. */
  ledBy(field: Prepared, others: readonly Prepared[]): Led | null {
    const all = [field, this.looks.sizeOf(field)].flatMap((led) =>
      others.flatMap((leader) => {
        const best = leader.sender !== null && leader.sender === field.sender ? null : this.leadsTo(leader, led);
        return best ? [{ leader, led, best }] : [];
      }),
    );
    return all.sort((a, b) => a.best.unexplained - b.best.unexplained)[0] ?? null;
  }

  private leadsTo(other: Prepared, led: Prepared): Best | null {
    if (other.place === led.place || nearness(other, led) < LED_NEAR) return null;
    const best = this.lagFit.roughLag(other, led);
    return best.lagUs >= LED_LAG_US && best.unexplained <= LED_OPEN ? best : null;
  }
}
