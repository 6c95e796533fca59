/** An invented recording in which one value stands in two frames: what tests of same values read. */
import { createRandom } from '../../src/kit/random.ts';

const SECONDS = 60;

/** An invented bus: a 16-bit value in 0x100, half of it 80 ms later in 0x200, and one of its own in 0x300. */
export function twoFramesOfOneValue(seed: string): string {
  const random = createRandom(seed);
  const wander = (): number[] => {
    let [value, target] = [0.5, 0.5];
    return Array.from({ length: SECONDS * 100 }, () => {
      if (random.next() < 0.01) target = random.next();
      value += (target - value) * 0.03;
      return value;
    });
  };
  const [first, other] = [wander(), wander()] as [number[], number[]];
  const rows: [number, string][] = [];
  const send = (id: string, periodMs: number, phaseMs: number, raw: (step: number) => number): void => {
    for (let atMs = phaseMs; atMs < SECONDS * 1000; atMs += periodMs) {
      const digits = Math.round(raw(Math.floor(atMs / 10))).toString(16);
      rows.push([atMs, `can0 ${id}#${digits.padStart(4, '0').toUpperCase()}`]);
    }
  };
  send('100', 10, 0, (k) => 60_000 * (first[k] as number));
  send('200', 20, 3, (k) => 30_000 * (first[Math.max(0, k - 8)] as number));
  send('300', 20, 7, (k) => 60_000 * (other[k] as number));
  return rows
    .sort(([a], [b]) => a - b)
    .map(([atMs, text]) => `(${(1_700_000_000 + atMs / 1000).toFixed(6)}) ${text}\n`)
    .join('');
}
