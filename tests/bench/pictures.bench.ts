/**
 * What a screen asks while a person pans: each against copying the stream's payload once, in the same process. Read the ratios, not the
 * times; nothing here is asserted.
 */
import { bench, describe } from 'vitest';
import { bitPyramid } from '../../src/frames/pictures/bit-counts.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { trace, traceBlocks } from '../../src/frames/pictures/trace.ts';
import type { TraceRequest } from '../../src/frames/pictures/types.ts';
import { weave } from '../../src/frames/pictures/weave.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { surveyTable } from '../../src/timing/survey.ts';

const FRAMES = 600_000;
const PERIOD_US = 1000;

function longStream(): Stream {
  const random = createRandom('bench');
  const timeUs = new Float64Array(FRAMES);
  const payload = new Uint8Array(FRAMES * 8);
  for (let row = 0; row < FRAMES; row++) {
    timeUs[row] = Math.round(row * PERIOD_US + random.normal() * 10);
    payload[row * 8] = row & 15;
    payload[row * 8 + 1] = random.below(256);
    payload[row * 8 + 2] = (row >> 8) & 255;
  }
  return {
    bus: 'can0',
    id: 0x100,
    extended: false,
    direction: 'received',
    index: 0,
    count: FRAMES,
    timeUs,
    arrival: Uint32Array.from({ length: FRAMES }, (_, row) => row),
    stride: 8,
    payload,
    length: 8,
    lengths: null,
    fdFlags: null,
  };
}

const stream = longStream();
const endUs = stream.timeUs[FRAMES - 1] as number;
const table: FrameTable = {
  streams: [stream],
  buses: ['can0'],
  origin: { kind: 'relative', text: '0' },
  endUs,
  frameCount: FRAMES,
  remotes: [],
  errors: [],
  files: [],
};
const window = { fromS: 0, toS: endUs / 1e6, columns: 1200 };
const request: TraceRequest = {
  stream,
  placement: { lsb: { byte: 2, bit: 0 }, length: 16, order: 'big' },
  coding: 'signed',
  scale: 0.5,
};
const pyramid = runSteps(bitPyramid(stream));
const blocks = runSteps(traceBlocks(stream, request));

describe('600,000 frames of one identifier', () => {
  bench('baseline: copy the payload', () => void stream.payload.slice());
  bench('weave of the whole, 1200 columns', () => void runSteps(weave(stream, pyramid, window)));
  bench('trace of the whole, 1200 columns', () => void runSteps(trace(stream, blocks, window)));
  bench('pyramid, once a stream', () => void runSteps(bitPyramid(stream)));
  bench('blocks of a trace, once a field', () => void runSteps(traceBlocks(stream, request)));
  bench('survey', () => void surveyTable(table, { can0: { bitrate: 500_000, dataBitrate: null } }));
});
