/** Hands out identifiers: lower ones to faster frames, as arbitration suggests; none twice on a bus. */
import type { Random } from '../kit/random.ts';

const BANDS: readonly { readonly uptoMs: number; readonly from: number; readonly to: number }[] = [
  { uptoMs: 10, from: 0x0a0, to: 0x1ff },
  { uptoMs: 20, from: 0x0c0, to: 0x24f },
  { uptoMs: 50, from: 0x140, to: 0x32f },
  { uptoMs: 200, from: 0x240, to: 0x47f },
  { uptoMs: Infinity, from: 0x3a0, to: 0x5bf },
];

export class Identifiers {
  private readonly used = new Set<string>();
  constructor(private readonly random: Random) {}

  reserve(id: number, extended: boolean): number {
    this.used.add(`${id}/${extended}`);
    return id;
  }

  has(id: number, extended: boolean): boolean {
    return this.used.has(`${id}/${extended}`);
  }

  base(periodMs: number): number {
    const band = BANDS.find(({ uptoMs }) => periodMs <= uptoMs) as (typeof BANDS)[number];
    for (;;) {
      const id = band.from + this.random.below(band.to - band.from + 1);
      if (!this.used.has(`${id}/false`)) return this.reserve(id, false);
    }
  }

  /** Priority, a group number and the sender's address, as is common with 29 bits. */
  extended(periodMs: number, address: number): number {
    const priority = periodMs <= 20 ? 3 : periodMs <= 100 ? 4 : 6;
    for (;;) {
      const group = 0x0f000 + this.random.below(0x0fff);
      const id = (priority << 26) | (group << 8) | address;
      if (!this.used.has(`${id}/true`)) return this.reserve(id, true);
    }
  }
}
