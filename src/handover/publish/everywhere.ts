/** Whatever was found in one place is looked for in every packing everywhere else. */
import type { FrameTable } from '../../frames/table.ts';
import { checkpoint, type Control } from '../../kit/control.ts';
import type { Found } from './found.ts';
import { FrameScan } from './frame-scan.ts';
import { TapeSearch, type Seen } from './known.ts';
import type { Readings } from './readings.ts';
import { secretsOf } from './same-number.ts';

/** Looks for numbers that are known, in every packing. */
export async function everywhere(
  table: FrameTable,
  { readings }: Readings,
  found: readonly Found[],
  control: Control,
): Promise<void> {
  const known = found.flatMap((each) => secretsOf(each).map((secret) => ({ secret, occurrences: each.occurrences })));
  const secrets = known.map(({ secret }) => secret);
  const add = ({ number, occurrence }: Seen): unknown => known[number]?.occurrences.push(occurrence);
  const tapes = new TapeSearch(secrets);
  for (const [index, { tape, anywhere }] of readings.entries()) {
    if (index % 64 === 0) await checkpoint(control, (0.5 * index) / readings.length, EVERYWHERE);
    tapes.on(tape, anywhere).forEach(add);
  }
  const scan = new FrameScan(secrets);
  for (const [index, stream] of table.streams.entries()) {
    await checkpoint(control, 0.5 + (0.5 * index) / table.streams.length, EVERYWHERE);
    scan.inStream(stream).forEach(add);
  }
}
const EVERYWHERE = 'looking for what was found in every packing';
