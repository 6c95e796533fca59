/** Which frames found the bus idle, on a loaded bus. */
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { busFrames } from '../../src/timing/bus-frames.ts';
import { busyPeriods } from '../../src/timing/senders/busy-periods.ts';

/** Trains of eight frames of 8 bytes one behind another, then a pause of a millisecond. */
function trains(apartUs: number): PlainFrame[] {
  return Array.from({ length: 1600 }, (_, i): PlainFrame => {
    const [train, place] = [i >> 3, i & 7];
    const timeUs = train * (7 * apartUs + 1000) + place * apartUs;
    return { timeUs, bus: 'can0', id: 0x100 + place, data: [i & 255, 1, 2, 3, 4, 5, 6, 7] };
  });
}

describe('busy periods', () => {
  // 8 bytes are 111 to 135 bits (ISO 11898-1): 240 us at the usual 500 kbit/s, 210 us at no usual rate, 165 us at 666 kbit/s.
  it.each([240, 210, 165])('begin after pauses only, frames %i us apart', (apartUs) => {
    const table = buildTable(trains(apartUs), { kind: 'epoch', text: '1773043272.000000' });
    const { openedBy, starts } = runSteps(busyPeriods(table, runSteps(busFrames(table)), 1));
    expect((starts[0] as Uint32Array).length).toBe(201);
    for (const each of openedBy) expect(new Set(each)).toEqual(new Set([0]));
  });
});
