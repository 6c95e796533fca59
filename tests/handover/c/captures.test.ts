/**
 * Whole recorded drives heard by the generated receiver with the true map of their vehicle: what a sender says is taken, what
 * is spoiled is refused, and silence is told from a slow frame.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { recordDrive } from '../../../src/demo/record.ts';
import { tableOf } from '../../../src/demo/recording/to-table.ts';
import { writeScript } from '../../../src/demo/script.ts';
import { completeMap } from '../../../src/demo/true-map.ts';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import { lengthAt, type FrameTable, type Stream } from '../../../src/frames/table.ts';
import { generateC, type CCode } from '../../../src/handover/c/source.ts';
import { MergedFrames } from '../../../src/handover/merged-frames.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { frameKey } from '../../../src/map/identifiers.ts';
import { compileFrame } from '../../../src/map/decode.ts';
import type { MapFrame, SignalMap } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { seedsFor } from '../../truth/support/vehicles.ts';
import { checked } from './held.ts';

beforeAll(requireGcc);

/** Reads records (bus, kind, length, identifier, time, payload), and says of each frame of the map how it arrived. */
function listener(code: CCode): string {
  const tell = code.frames.map(({ member }, i) => {
    const a = `r.${member}.arrival`;
    return `printf("${i} %u %u %u %u\\n", (unsigned)${a}.taken, (unsigned)${a}.refused, (unsigned)${a}.timeouts, (unsigned)checksum[${i}]);`;
  });
  const last = code.frames.map(
    ({ member }, i) =>
      `if (r.${member}.arrival.refused != refused[${i}]) { refused[${i}] = r.${member}.arrival.refused; checksum[${i}] += (status == SM_CHECKSUM); }`,
  );
  return `#include "signal_map.h"
#include <stdio.h>
#include <string.h>
static sm_receiver r;
int main(void) {
  uint8_t head[12]; uint8_t p[64]; static uint32_t refused[${code.frames.length}]; static uint32_t checksum[${code.frames.length}];
  sm_receiver_init(&r);
  while (fread(head, 1, sizeof head, stdin) == sizeof head) {
    uint32_t id; uint32_t now; sm_status status;
    memcpy(&id, head + 4, 4); memcpy(&now, head + 8, 4);
    if (fread(p, 1, head[2], stdin) != head[2]) return 1;
    sm_expire(&r, now);
    status = sm_receive(&r, head[0], id, head[1], p, head[2], now);
    if (status != SM_OK) { ${last.join('\n')} }
  }
  ${tell.join('\n')}
  return 0;
}
`;
}

interface Arrived {
  readonly name: string;
  /** Of those sent: what the program's own decoder and the stamps say. */
  readonly want: { readonly sent: number; readonly failing: number; readonly silences: number };
  readonly taken: number;
  readonly refused: number;
  readonly timeouts: number;
  readonly checksum: number;
}

const keyOf = ({ bus, id, extended }: Stream): string =>
  frameKey({ bus, id: `0x${id.toString(16).toUpperCase()}`, extended });

/** Whether a checksum that can be computed does not agree. */
function failsOf(frame: MapFrame): (payload: Uint8Array) => boolean {
  const { decode } = compileFrame(frame);
  return (payload) => decode(payload).checksums.some(({ holds }) => holds === false);
}

/** Silences longer than the header's timeout, the last one until the end of the capture too. */
function silencesOf(times: readonly number[], endUs: number, timeoutUs: number): number {
  if (timeoutUs === 0 || times.length === 0) return 0;
  return [...times, endUs].filter((time, i, all) => i > 0 && time - (all[i - 1] as number) > timeoutUs).length;
}

const timeoutsIn = ({ header, frames }: CCode): number[] =>
  frames.map(({ stem }) => Number(new RegExp(`${stem.toUpperCase()}_TIMEOUT_US UINT32_C\\((\\d+)`).exec(header)?.[1]));

/** Hears the table's frames; `spoil` may change a payload. */
function arrivals(map: SignalMap, table: FrameTable, spoil: (payload: Uint8Array) => void): Arrived[] {
  const code = generateC(map, { cautions: [] });
  const buses = [...new Set([...map.buses.map(({ name }) => name), ...map.frames.map(({ bus }) => bus)])];
  const keys = map.frames.map((frame) => frameKey(frame));
  const places = table.streams.map((stream) => keys.indexOf(keyOf(stream)));
  const fails = map.frames.map(failsOf);
  const times = map.frames.map((): number[] => []);
  const failing = map.frames.map(() => 0);
  const chunks: Uint8Array[] = [];
  let endUs = 0;
  new MergedFrames(table.streams).take(Infinity, (index, row) => {
    const [stream, place] = [table.streams[index] as Stream, places[index] as number];
    const [at, length] = [row * stream.stride, lengthAt(stream, row)];
    endUs = Math.round(stream.timeUs[row] as number);
    const chunk = new Uint8Array(12 + length);
    const view = new DataView(chunk.buffer);
    chunk.set([buses.indexOf(stream.bus), stream.extended ? 1 : 0, length]);
    view.setUint32(4, stream.id, true);
    view.setUint32(8, endUs, true);
    const payload = chunk.subarray(12);
    payload.set(stream.payload.subarray(at, at + length));
    chunks.push(chunk);
    if (place < 0) return;
    spoil(payload);
    // A frame that is refused does not end a silence.
    if (fails[place]?.(payload)) failing[place] = (failing[place] as number) + 1;
    else times[place]?.push(endUs);
  });
  const run = checked(code, listener(code));
  const lines = run.run('main', Buffer.concat(chunks)).trim().split('\n');
  run.remove();
  const timeouts = timeoutsIn(code);
  return lines.map((line) => {
    const [i = 0, taken = 0, refused = 0, heard = 0, checksum = 0] = line.split(' ').map(Number);
    const silences = silencesOf(times[i] ?? [], endUs, timeouts[i] ?? 0);
    const want = { sent: times[i]?.length ?? 0, failing: failing[i] ?? 0, silences };
    return { name: map.frames[i]?.name ?? '', want, taken, refused, timeouts: heard, checksum };
  });
}

const { seeds } = seedsFor('heard', 1);

describe.each(['paged', 'guarded'] as const)('a drive of a %s vehicle', (profile) => {
  it.each(seeds)(
    'takes every frame, and of spoiled ones refuses those whose checksum fails: seed %s',
    (seed) => {
      const { recording } = recordDrive(vehicleFor(profile, seed), writeScript(seed, { durationS: 40 }), { seed });
      const [table, map] = [tableOf(recording), completeMap(recording, 'first drive', [], null)];
      for (const { name, want, ...told } of arrivals(map, table, () => {}))
        expect(told, name).toEqual({ taken: want.sent, refused: 0, timeouts: want.silences, checksum: 0 });
      const random = createRandom(`spoil ${seed}`);
      const noisy = arrivals(map, table, (payload) => {
        if (random.next() > 0.01 || payload.length === 0) return;
        const at = random.below(payload.length);
        payload[at] = (payload[at] as number) ^ (1 << random.below(8));
      });
      for (const { name, want, checksum } of noisy) expect(checksum, name).toBe(want.failing);
      expect(noisy.reduce((sum, { checksum }) => sum + checksum, 0)).toBeGreaterThan(50);
    },
    240_000,
  );
});
