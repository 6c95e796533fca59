/** One capture that is open: its frames and what is kept of it between questions (pyramids, blocks of traces, gaps). */
import { bitPyramid, pyramidBytes, type BitPyramid } from '../frames/pictures/bit-counts.ts';
import { sampleWire, type WireSample } from '../frames/pictures/load.ts';
import { movementSums } from '../frames/pictures/overview.ts';
import { walkSteps } from '../frames/pictures/steps.ts';
import { traceBlocks, traceBlocksBytes, type TraceBlocks } from '../frames/pictures/trace.ts';
import type { Gap, TraceRequest } from '../frames/pictures/types.ts';
import { findStream, streamName, type FrameTable, type Stream, type StreamKey } from '../frames/table.ts';
import type { Control } from '../kit/control.ts';
import { invariant } from '../kit/outcome.ts';
import type { BusOrder } from '../timing/bus-order.ts';
import { clockHealth, type ClockHealth } from '../timing/clock/health.ts';
import type { Senders } from '../timing/senders/groups.ts';
import { busOrders, surveyModes, surveySenders, surveyStream, weighSurvey, wholeSpan } from '../timing/survey.ts';
import type { BusRates, Survey, SurveyFrame } from '../timing/types.ts';
import { canonicalJson } from './digest.ts';
import { createKept } from './kept.ts';

const PYRAMID_BYTES_MAX = 96e6;
const TRACE_BYTES_MAX = 32e6;
const MOVEMENT_BYTES_MAX = 128e6;
const SMALL_BYTES_MAX = 64e6;

export interface OpenCapture {
  readonly table: FrameTable;
  readonly digest: string;
  stream(key: StreamKey): Stream;
  pyramid(stream: Stream): Promise<BitPyramid>;
  blocks(stream: Stream, request: TraceRequest): Promise<TraceBlocks>;
  movement(stream: Stream): Promise<Float64Array>;
  /** The survey's row of one identifier: its timing and the silences longer than that allows. */
  row(stream: Stream): Promise<SurveyFrame>;
  /** The survey of the whole capture; asked again with other bit rates it only weighs the frames anew. */
  survey(rates: BusRates): Promise<Survey>;
  /** Who sends what, as the survey groups it. */
  senders(): Promise<Senders>;
  /** Stretches in which a whole bus was silent, by its name. */
  busGaps(): Promise<ReadonlyMap<string, readonly Gap[]>>;
  wire(stream: Stream): WireSample;
}

export function openCapture(table: FrameTable, digest: string, control: Control): OpenCapture {
  const pyramids = createKept<BitPyramid>(PYRAMID_BYTES_MAX, pyramidBytes);
  const blocks = createKept<TraceBlocks>(TRACE_BYTES_MAX, traceBlocksBytes);
  const movement = createKept<Float64Array>(MOVEMENT_BYTES_MAX, (sums) => sums.byteLength);
  const rows = createKept<SurveyFrame>(SMALL_BYTES_MAX, (row) => 1000 + 64 * row.gaps.length);
  const wires = new Map<Stream, WireSample>();
  const orders = createKept<readonly BusOrder[]>(SMALL_BYTES_MAX, () => 0);
  const healths = createKept<ClockHealth>(SMALL_BYTES_MAX, () => 0);
  const senders = createKept<Senders>(SMALL_BYTES_MAX, () => 0);
  const ordered = (): Promise<readonly BusOrder[]> => orders.get('all', () => walkSteps(busOrders(table), control));
  const gapsOf = async (bus: string): Promise<readonly Gap[]> =>
    (await ordered())[table.buses.indexOf(bus)]?.gaps ?? [];
  const row = (stream: Stream): Promise<SurveyFrame> =>
    rows.get(streamName(stream), async () => walkSteps(surveyStream(table, stream, await gapsOf(stream.bus)), control));
  const healthOf = (made: readonly SurveyFrame[]): Promise<ClockHealth> =>
    healths.get('all', async () => walkSteps(clockHealth(table, made, await ordered()), control));
  const sendersOf = (made: readonly SurveyFrame[]): Promise<Senders> =>
    senders.get('all', async () =>
      walkSteps(surveySenders(table, made, await ordered(), await healthOf(made)), control),
    );
  const rowsOfAll = async (): Promise<SurveyFrame[]> => {
    const all: SurveyFrame[] = [];
    for (const stream of table.streams) all.push(await row(stream));
    return all;
  };
  return {
    table,
    digest,
    stream(key) {
      const stream = findStream(table, key);
      invariant(stream, `the capture holds no stream ${streamName(key)}`);
      return stream;
    },
    pyramid: (stream) => pyramids.get(streamName(stream), () => walkSteps(bitPyramid(stream), control)),
    blocks: (stream, request) =>
      blocks.get(canonicalJson({ ...request, stream: streamName(stream) }), () =>
        walkSteps(traceBlocks(stream, request), control),
      ),
    movement: (stream) => movement.get(streamName(stream), () => walkSteps(movementSums(stream), control)),
    row,
    async survey(rates) {
      const surveyed = await rowsOfAll();
      const health = await healthOf(surveyed);
      const found = await walkSteps(surveyModes(table, surveyed, health), control);
      const known = { ...found, orders: await ordered(), health, senders: await sendersOf(surveyed) };
      return walkSteps(weighSurvey(table, known, rates, wholeSpan(table)), control);
    },
    senders: async () => sendersOf(await rowsOfAll()),
    async busGaps() {
      const found = await ordered();
      return new Map(table.buses.map((name, place) => [name, found[place]?.gaps ?? []]));
    },
    wire(stream) {
      const known = wires.get(stream) ?? sampleWire(stream);
      wires.set(stream, known);
      return known;
    },
  };
}
