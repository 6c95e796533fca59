/**
 * The published rule to beat: bits flip about half as often as their lower neighbour, so a value ends where the order of
 * magnitude of the flip rate rises again (Marchetti and Stabili, IEEE Trans. Information Forensics and Security 14(4), 2019;
 * re-stated here from memory of the paper). It knows only one bit order, most significant first.
 */
import type { Placement } from '../../src/frames/bits.ts';
import { measureBits } from '../../src/fields/bit-statistics.ts';
import type { Stream } from '../../src/frames/table.ts';

const magnitude = (rate: number): number => Math.ceil(Math.log10(rate));

export function flipRateSpans(stream: Stream): Placement[] {
  const { changeShare } = measureBits(stream);
  const spans: Placement[] = [];
  let open: number[] = [];
  const close = (): void => {
    const lowest = open.at(-1);
    if (lowest !== undefined) {
      const crosses = open[0]! >> 3 !== lowest >> 3;
      spans.push({
        lsb: { byte: lowest >> 3, bit: lowest & 7 },
        length: open.length,
        order: crosses ? 'big' : 'little',
      });
    }
    open = [];
  };
  for (let byte = 0; byte < stream.length; byte++) {
    for (let bit = 7; bit >= 0; bit--) {
      const at = byte * 8 + bit;
      const rate = changeShare[at] as number;
      const above = open.length > 0 ? (changeShare[open.at(-1) as number] as number) : 0;
      if (rate === 0 || (open.length > 0 && magnitude(rate) < magnitude(above))) close();
      if (rate > 0) open.push(at);
    }
  }
  close();
  return spans;
}
