/**
 * What it saves to know how far pages lie apart: cells of one pack rise and fall together, each with its own offset, so that the step from one page to
 * the next is about the same each time. Learnt on the first half of the rows and charged on the second.
 */

/** Added to each squared step, so that a still byte is no infinite surprise. */
const FLOOR = 0.1;

/** Of all that the usual steps make, the share by which up and down may differ: over a round they come back to where they were. */
const ONE_WAY = 0.5;

/** Pages go up and down from one to the next; a value that rises and is renewed at each so many frames only looks as if it had pages. */
export function goesOneWay(steps: Float64Array, pages: ArrayLike<number>): boolean {
  const sums = new Map<number, number>();
  for (let row = 1; row < steps.length; row++) {
    const page = pages[row] as number;
    sums.set(page, (sums.get(page) ?? 0) + (steps[row] as number));
  }
  const all = [...sums.values()];
  const net = all.reduce((total, each) => total + each, 0);
  return Math.abs(net) > ONE_WAY * all.reduce((total, each) => total + Math.abs(each), 0);
}

/** [pages] step to each page from whichever came before it, as learnt on the first rows; pages that never came there are missing. */
function usualSteps(steps: Float64Array, pages: ArrayLike<number>, end: number): Map<number, number> {
  const sums = new Map<number, { sum: number; times: number }>();
  for (let row = 1; row < end; row++) {
    const page = pages[row] as number;
    const own = sums.get(page) ?? { sum: 0, times: 0 };
    own.sum += steps[row] as number;
    own.times++;
    sums.set(page, own);
  }
  return new Map([...sums].map(([page, { sum, times }]) => [page, sum / (times + 1)]));
}

/** Rounds in which offsets settle: each is the mean of what the steps from and to the others say. */
const SETTLING = 12;

/** [pages] how far each page lies above the others (least squares over the steps, by relaxation), as learnt on the first rows; null where each has but one before it. */
function usualOffsets(steps: Float64Array, pages: ArrayLike<number>, end: number): Map<number, number> | null {
  const between = new Map<number, { from: number; to: number; sum: number; times: number }>();
  for (let row = 1; row < end; row++) {
    const [from, to] = [pages[row - 1] as number, pages[row] as number];
    if (from === to) continue;
    const own = between.get(from * 256 + to) ?? { from, to, sum: 0, times: 0 };
    own.sum += steps[row] as number;
    own.times++;
    between.set(from * 256 + to, own);
  }
  if (between.size <= new Set([...between.values()].map(({ to }) => to)).size) return null;
  let offsets = new Map<number, number>();
  for (let round = 0; round < SETTLING; round++) {
    const sums = new Map<number, { sum: number; times: number }>();
    const say = (page: number, sum: number, times: number): void => {
      const own = sums.get(page) ?? { sum: 0, times: 1 };
      own.sum += sum;
      own.times += times;
      sums.set(page, own);
    };
    for (const { from, to, sum, times } of between.values()) {
      say(to, sum + times * (offsets.get(from) ?? 0), times);
      say(from, times * (offsets.get(to) ?? 0) - sum, times);
    }
    const settled = (page: number): number => (offsets.get(page) ?? 0) / 2;
    offsets = new Map([...sums].map(([page, { sum, times }]) => [page, settled(page) + sum / times / 2]));
  }
  return offsets;
}

/**
 * Bits saved on the second half by knowing each page's usual step, or where pages come in no order how far each lies above the others, steps being
 * normally spread. steps: [rows] the step to each row from the row before; the first is passed over.
 */
export function offsetGain(steps: Float64Array, pages: ArrayLike<number>): number {
  const half = steps.length >> 1;
  const usual = usualSteps(steps, pages, half);
  const offsets = usualOffsets(steps, pages, half);
  let unknown = 0;
  let [byStep, byOffset] = [0, 0];
  let rows = 0;
  for (let row = Math.max(1, half); row < steps.length; row++) {
    const own = usual.get(pages[row] as number);
    if (own === undefined) continue;
    const step = steps[row] as number;
    const apart = offsets
      ? (offsets.get(pages[row] as number) ?? 0) - (offsets.get(pages[row - 1] as number) ?? 0)
      : own;
    unknown += step * step + FLOOR;
    byStep += (step - own) ** 2 + FLOOR;
    byOffset += (step - apart) ** 2 + FLOOR;
    rows++;
  }
  return rows === 0 ? 0 : (rows / 2) * Math.log2(unknown / Math.min(byStep, byOffset));
}
