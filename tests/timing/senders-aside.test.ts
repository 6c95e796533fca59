/** Identifiers that show no clock of their sender's: who follows another one's frames, and whose timer starts anew with every frame. */
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { groupSenders } from '../../src/timing/senders/groups.ts';
import { busOrders } from '../../src/timing/survey.ts';
import { surveyStream } from '../../src/timing/survey-row.ts';

const WIRE_US = 230;
const PERIOD_US = 50_000;
const TICKS = 2400;

/** A leader that waits for a foreign frame now and then; 0x200 comes 3 ms after its frame, 0x300 3 ms after its tick; 0x400 walks. */
function frames(): PlainFrame[] {
  const random = createRandom('who follows');
  const late = (): number => 30 * Math.abs(random.normal());
  const out: PlainFrame[] = [];
  const send = (id: number, timeUs: number, tick: number): number =>
    out.push({ timeUs: Math.round(timeUs), bus: 'can0', id, data: [tick & 255, tick >> 8, 0x5a, 1, 2, 3, 4, 5] });
  let walkUs = 17_000;
  for (let tick = 0; tick < TICKS; tick++) {
    const atUs = tick * PERIOD_US;
    let leaderUs = atUs + late();
    if (random.next() < 0.3) {
      const foreignEndUs = leaderUs + random.next() * WIRE_US;
      send(0x80, foreignEndUs, tick * 7);
      leaderUs = foreignEndUs;
    }
    const endUs = leaderUs + WIRE_US;
    send(0x100, endUs, tick);
    send(0x200, endUs + 3000 + late() + WIRE_US, tick);
    send(0x300, atUs + 6000 + late() + WIRE_US, tick);
    send(0x400, walkUs + WIRE_US, tick);
    walkUs += PERIOD_US + 3 * late() - 72;
  }
  return out.sort((a, b) => a.timeUs - b.timeUs);
}

describe('identifiers that show no clock of their sender', () => {
  const table = buildTable(frames(), { kind: 'epoch', text: '1773043272.000000' });
  const orders = runSteps(busOrders(table));
  const rows = table.streams.map((stream) => runSteps(surveyStream(table, stream, orders[0]?.gaps ?? [])));
  const recorded = {
    stepUs: 1,
    endUs: table.endUs,
    pausesUs: new Map<string, number[]>(),
    clockOf: new Map<string, number>(),
  };
  const { streams } = runSteps(groupSenders(table, rows, recorded));
  const of = (id: number) => streams.find(({ stream }) => stream.id === id);

  it('who has the waits of another follows it, and is alone', () => {
    expect(of(0x200)?.group).toBeNull();
    // Either reading is right: an answer by its delays, or a follower by its waits.
    expect(`${of(0x200)?.why} ${rows.find(({ id }) => id === '0x200')?.timing.kind}`).toMatch(/follows 0x100|reply/);
  });

  it('who shares but the clock does not follow', () => {
    expect(of(0x300)?.why).not.toMatch(/follows/);
    expect([of(0x100)?.group, of(0x300)?.group]).toEqual(['A', 'A']);
  });

  it('a timer that starts anew with every frame is alone', () => {
    expect(of(0x400)?.group).toBeNull();
    expect(of(0x400)?.why).toMatch(/starts anew/);
  });
});
