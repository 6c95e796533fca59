/**
 * How the steps of a value are spread: size class, the two bits below the leading one, direction; and what it costs to
 * write them down. The split of a step into size class and remainder follows Elias (IEEE Trans. Inf. Theory 21, 1975).
 */
import { binaryCost, symbolCost } from './code-length.ts';

const CLASSES = 33;

/** Of steps that nothing is known of, the share that goes anywhere (common practice, no source). */
const FAR = 0.25;
/** Shares of the size classes among small steps. */
const SMALL = Float64Array.from({ length: CLASSES }, (_, size) => (size === 0 ? 0 : 0.5 * 0.5 ** (size - 1)));

export class StepTally {
  readonly sizes = new Int32Array(CLASSES);
  readonly sizesAfter = new Int32Array(CLASSES * CLASSES);
  readonly signs = new Int32Array(4);
  /** The two bits below the leading one of a step, by size class: so finely is the shape of small and large steps learnt. */
  readonly leads = new Int32Array(CLASSES * 4);
  private lastSize = 0;
  private lastSign = 0;

  clear(): void {
    this.sizes.fill(0);
    this.sizesAfter.fill(0);
    this.lastSize = 0;
    this.signs.fill(0);
    this.leads.fill(0);
    this.lastSign = 0;
  }

  add(step: number): void {
    const sign = step < 0 ? 1 : 0;
    const distance = sign ? -step : step;
    const size = distance === 0 ? 0 : 32 - Math.clz32(distance);
    this.sizes[size]!++;
    this.sizesAfter[this.lastSize * CLASSES + size]!++;
    this.lastSize = size;
    if (size === 0) return;
    if (size > 1) this.leads[size * 4 + (size === 2 ? distance & 1 : (distance >>> (size - 3)) & 3)]!++;
    this.signs[this.lastSign * 2 + sign]!++;
    this.lastSign = sign;
  }

  /** Bits for all steps added, of a value `length` bits wide. */
  cost(length: number): number {
    if (length === 1) return 0;
    let largest = length;
    while (largest > 1 && this.sizes[largest] === 0) largest--;
    let bits = 2 + Math.log2(length);
    let bySize = 0;
    for (let size = 2; size <= largest; size++) {
      bits += symbolCost(this.leads, size * 4, size * 4 + 4, size === 2 ? 2 : 4);
      bits += (this.sizes[size] as number) * Math.max(0, size - 3);
    }
    for (let last = 0; last <= largest; last++) {
      bySize += symbolCost(this.sizesAfter, last * CLASSES, last * CLASSES + largest + 1, largest + 1);
    }
    return bits + Math.min(symbolCost(this.sizes, 0, largest + 1, largest + 1), bySize) + this.signCost();
  }

  /**
   * The same by a code that learns nothing but directions: small steps are likely, and one in four goes anywhere. Fair to few steps. One bit
   * says that all are steps of one: a slow value goes up and down by its last digit.
   */
  fixedCost(length: number): number {
    let bits = 0;
    let largest = 0;
    for (let size = 1; size <= length; size++) {
      const times = this.sizes[size] as number;
      if (times === 0) continue;
      largest = size;
      const share = FAR * 2 ** (size - length - 1) + (1 - FAR) * (SMALL[size] as number);
      bits += times * (size - 1 - Math.log2(share));
    }
    return (largest <= 1 ? Math.min(bits, 1) : bits) + this.signCost();
  }

  private signCost(): number {
    const [a, b, c, d] = this.signs as unknown as [number, number, number, number];
    return Math.min(binaryCost(a + c, b + d), binaryCost(a, b) + binaryCost(c, d));
  }
}
