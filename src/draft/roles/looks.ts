/** What is needed of one number again and again while it is held against others: made once. */
import { bendsOf, movingInstants, type Instants } from './moving.ts';
import { sizeOf, type Prepared } from './prepared.ts';

/** Thinned for the first look. */
export function someOf(instants: Instants): Instants {
  const { timeUs, value, stretch } = instants;
  const every = Math.max(1, Math.floor(timeUs.length / 800));
  const keep = <T extends Float64Array | Uint16Array>(values: T): T =>
    values.filter((_: number, i: number) => i % every === 0) as T;
  return { ...instants, timeUs: keep(timeUs), value: keep(value), stretch: keep(stretch) };
}

export class Looks {
  private readonly moving = new Map<Prepared, Instants>();
  private readonly bent = new Map<Prepared, Map<number, Float64Array>>();
  private readonly thinned = new Map<Prepared, Instants>();
  private readonly sizes = new Map<Prepared, Prepared>();

  instantsOf(field: Prepared): Instants {
    const known = this.moving.get(field) ?? movingInstants(field.field, field.refreshUs);
    this.moving.set(field, known);
    return known;
  }

  few(field: Prepared): Instants {
    const known = this.thinned.get(field) ?? someOf(this.instantsOf(field));
    this.thinned.set(field, known);
    return known;
  }

  /** Second differences of frames so far apart, where the field moves. */
  bends(field: Prepared, apartUs: number): Float64Array {
    const own = this.bent.get(field) ?? new Map<number, Float64Array>();
    const known = own.get(apartUs) ?? bendsOf(field.field, this.instantsOf(field).moving, apartUs);
    this.bent.set(field, own.set(apartUs, known));
    return known;
  }

  /** The number without its sign. */
  sizeOf(field: Prepared): Prepared {
    const known = this.sizes.get(field) ?? sizeOf(field);
    this.sizes.set(field, known);
    return known;
  }
}
