/** What the report says, as tables and lines: the HTML and the Markdown report show the same. */
import { confidenceFigure } from '../../kit/figures.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import {
  describeChecksum,
  describeCounter,
  describePlace,
  describeRange,
  describeScale,
  describeTiming,
  describeWhen,
} from './describe.ts';
import type { LeftOut } from '../encode-choice.ts';
import type { TextTable } from './markup-text.ts';

export interface ReportInput {
  readonly map: SignalMap;
  readonly cautions: readonly string[];
  readonly leftOut: readonly LeftOut[];
}

export const FIRST_VERSION =
  'First version of this report: no loom picture, no traces, no evidence figures. What it says stands in the map.';

export function identityLines({ part, made, captures }: SignalMap): string[] {
  const files = captures.flatMap(({ title, files }) =>
    files.map(({ name, bytes }) => `${title}: ${name}, ${bytes} bytes`),
  );
  return [
    part.donor && `Donor: ${part.donor}`,
    part.notes && `Notes: ${part.notes}`,
    `Made by ${made.by} at ${made.at}`,
    ...files.map((line) => `Recorded: ${line}`),
  ].filter((line): line is string => Boolean(line));
}

export const busTable = ({ buses }: SignalMap): TextTable => ({
  head: ['bus', 'bit/s', 'data bit/s'],
  rows: buses.map(({ name, bitrate, dataBitrate }) => [name, String(bitrate ?? ''), String(dataBitrate ?? '')]),
});

export const frameTable = ({ frames }: SignalMap): TextTable => ({
  head: ['frame', 'bus', 'id', 'bytes', 'role', 'sender', 'timing', 'need'],
  rows: frames.map((frame) => [
    frame.name,
    frame.bus,
    frame.extended ? `${frame.id} (29-bit)` : frame.id,
    String(frame.length),
    frame.role,
    frame.sender ? `${frame.sender.group} ${frame.sender.name}`.trim() : '',
    describeTiming(frame),
    frame.need.verdict,
  ]),
});

export const signalTable = ({ signals }: MapFrame): TextTable => ({
  head: ['signal', 'place', 'page', 'value', 'unit', 'range', 'role', 'standing', 'confidence'],
  rows: signals.map((signal) => [
    signal.name,
    describePlace(signal),
    describeWhen(signal.when),
    Object.keys(signal.states).length > 0
      ? Object.entries(signal.states)
          .map(([raw, state]) => `${raw} ${state}`)
          .join(', ')
      : describeScale(signal),
    signal.unit,
    describeRange(signal),
    signal.role,
    signal.standing,
    confidenceFigure(signal.confidence),
  ]),
});

export function guardLines(frame: MapFrame): string[] {
  const onPage = (when: MapFrame['counters'][number]['when']): string => (when ? ` when ${describeWhen(when)}` : '');
  return [
    ...frame.counters.map((counter) => `Counter ${describeCounter(counter)}${onPage(counter.when)}`),
    ...frame.checksums.map((checksum) => `Checksum ${describeChecksum(checksum)}${onPage(checksum.when)}`),
    ...frame.selectors.map((selector) => `Selector ${selector.name} at ${describePlace(selector)}`),
    ...(frame.rest ? [`At rest: ${frame.rest.payload}`] : []),
  ];
}

export const leftOutTable = (leftOut: readonly LeftOut[]): TextTable => ({
  head: ['left out of the encoder', 'why'],
  rows: leftOut.map(({ name, why }) => [name, why]),
});

const ofGroup = (group: string | null): string => (group ? ` (sender ${group})` : '');
const PRESENCE = { begins: 'begins to be sent', 'falls-silent': 'is sent no more' };

type MapSequence = SignalMap['sequences'][number];

/** Steps, and what begins and falls silent between them, in order of time. */
function stepLines({ steps, presence = [], n }: MapSequence): string[] {
  const all = [
    ...steps.map((step) => ({ ...step, what: `${step.signal}: ${step.from} to ${step.to}` })),
    ...presence.map((each) => ({ ...each, what: PRESENCE[each.what] + ofGroup(each.group) })),
  ].sort((a, b) => a.delayMs[0] - b.delayMs[0]);
  return all.map(
    ({ bus, id, what, delayMs, seen }, i) =>
      `${i + 1}. ${bus} ${id} ${what}, ${delayMs[0]} to ${delayMs[1]} ms, ${seen} of ${n}`,
  );
}

export const sequenceLines = ({ sequences }: SignalMap): string[] =>
  sequences.flatMap((sequence) => [
    `${sequence.name}, after ${sequence.event}, seen ${sequence.n} times`,
    ...stepLines(sequence),
  ]);
