/** Values over time, sampled alike. */
export const STEP_S = 0.01;

export class Columns {
  private readonly all = new Map<string, Float64Array>();
  readonly count: number;
  constructor(readonly durationS: number) {
    this.count = Math.ceil(durationS / STEP_S) + 1;
  }

  /** A new column of zeros, or the one there is. */
  own(name: string): Float64Array {
    const known = this.all.get(name);
    if (known) return known;
    const made = new Float64Array(this.count);
    this.all.set(name, made);
    return made;
  }

  /** @throws where there is none. */
  get(name: string): Float64Array {
    const known = this.all.get(name);
    if (!known) throw new Error(`nothing is called ${name}`);
    return known;
  }

  has(name: string): boolean {
    return this.all.has(name);
  }

  put(row: number, values: Readonly<Record<string, number>>): void {
    for (const name in values) this.own(name)[row] = values[name]!;
  }

  rowAt(timeS: number): number {
    return Math.max(0, Math.min(this.count - 1, Math.floor(timeS / STEP_S)));
  }
}
