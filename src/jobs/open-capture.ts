/** One capture that is open: its frames and what is kept of it between questions (pyramids, blocks of traces, gaps). */
import { bitPyramid, pyramidBytes, type BitPyramid } from '../frames/pictures/bit-counts.ts';
import { sampleWire, type WireSample } from '../frames/pictures/load.ts';
import { movementSums } from '../frames/pictures/overview.ts';
import { walkSteps } from '../frames/pictures/steps.ts';
import { traceBlocks, traceBlocksBytes, type TraceBlocks } from '../frames/pictures/trace.ts';
import type { Span } from '../frames/pictures/span.ts';
import type { Gap, TraceRequest } from '../frames/pictures/types.ts';
import { findStream, streamName, type FrameTable, type Stream, type StreamKey } from '../frames/table.ts';
import type { Control } from '../kit/control.ts';
import { invariant } from '../kit/outcome.ts';
import { busFrames, type BusFrames } from '../timing/bus-frames.ts';
import type { BusOrder } from '../timing/bus-order.ts';
import type { Senders } from '../timing/senders/groups.ts';
import { busOrders, knownFrom, surveyModes, weighSurvey, wholeSpan, type SurveyKnown } from '../timing/survey.ts';
import { surveyStream } from '../timing/survey-row.ts';
import type { Modes } from '../timing/modes/modes.ts';
import type { BusRates, ModeMark, Survey, SurveyFrame } from '../timing/types.ts';
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
  /** Modes with marks to name them, on the capture's clock, and the rows with their timing in those. */
  modes(marks: readonly ModeMark[]): Promise<Modes>;
  /** Who sends what, as the survey groups it. */
  senders(): Promise<Senders>;
  /** Stretches in which a whole bus was silent, by its name. */
  busGaps(): Promise<ReadonlyMap<string, readonly Gap[]>>;
  wire(stream: Stream): WireSample;
}

/** @param span of a trimmed table: what it was trimmed to */
export function openCapture(
  table: FrameTable,
  digest: string,
  control: Control,
  span: Span = wholeSpan(table),
): OpenCapture {
  const pyramids = createKept<BitPyramid>(PYRAMID_BYTES_MAX, pyramidBytes);
  const blocks = createKept<TraceBlocks>(TRACE_BYTES_MAX, traceBlocksBytes);
  const movement = createKept<Float64Array>(MOVEMENT_BYTES_MAX, (sums) => sums.byteLength);
  const rows = createKept<SurveyFrame>(SMALL_BYTES_MAX, (row) => 1000 + 64 * row.gaps.length);
  const wires = new Map<Stream, WireSample>();
  const orders = createKept<readonly BusOrder[]>(SMALL_BYTES_MAX, () => 0);
  const knowns = createKept<SurveyKnown>(SMALL_BYTES_MAX, () => 0);
  const found = createKept<Modes>(SMALL_BYTES_MAX, (modes) => 1000 * modes.rows.length);
  const ordered = (buses?: readonly BusFrames[]): Promise<readonly BusOrder[]> =>
    orders.get('all', () => walkSteps(busOrders(table, buses), control));
  const gapsOf = async (bus: string): Promise<readonly Gap[]> =>
    (await ordered())[table.buses.indexOf(bus)]?.gaps ?? [];
  const row = (stream: Stream): Promise<SurveyFrame> =>
    rows.get(streamName(stream), async () => walkSteps(surveyStream(table, stream, await gapsOf(stream.bus)), control));
  const known = (): Promise<SurveyKnown> =>
    knowns.get('all', async () => {
      // Needed twice, and not kept: half as large as the capture itself.
      const buses = await walkSteps(busFrames(table), control);
      const together = await ordered(buses);
      const all: SurveyFrame[] = [];
      for (const stream of table.streams) all.push(await row(stream));
      return walkSteps(knownFrom(table, all, buses, together), control);
    });
  const modes = (marks: readonly ModeMark[]): Promise<Modes> =>
    found.get(canonicalJson(marks), async () => walkSteps(surveyModes(table, await known(), marks), control));
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
    survey: async (rates) => walkSteps(weighSurvey(table, await known(), await modes([]), rates, span), control),
    modes,
    senders: async () => (await known()).senders,
    async busGaps() {
      const together = await ordered();
      return new Map(table.buses.map((name, place) => [name, together[place]?.gaps ?? []]));
    },
    wire(stream) {
      const known = wires.get(stream) ?? sampleWire(stream);
      wires.set(stream, known);
      return known;
    },
  };
}
