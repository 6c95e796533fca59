/** Sender groups in the shape of the survey, and what the stamps allow to be said of senders. */
import type { Stream } from '../../frames/table.ts';
import { formatId } from '../../kit/units.ts';
import type { BusOrder } from '../bus-order.ts';
import type { SenderGroup, Senders, StreamSender } from './groups.ts';
import { median } from '../robust.ts';
import type { SurveyFrame, SurveyGroup } from '../types.ts';

/** Two clocks count as told apart from so many standard errors of their difference on. */
const APART_SE = 3;
/** Clocks of one vehicle often lie closer than this: beyond it little can be told, ppm. */
const COARSE_PPM = 20;

/** What stamps are in effect multiples of: their resolution, or how far apart batches come. */
export const stampStepUs = (resolutionUs: number, orders: readonly BusOrder[]): number =>
  orders.reduce((most, { batchUs }) => Math.max(most, batchUs), resolutionUs);

const idOf = ({ bus, id, extended }: Stream): { bus: string; id: string; extended: boolean } => ({
  bus,
  id: formatId(id),
  extended,
});

export function withSender(row: SurveyFrame, sender: StreamSender): SurveyFrame {
  const { group, confidence, skew, copy, why } = sender;
  const copyOf = copy && { ...idOf(copy.original), delayMs: Number((copy.delayUs / 1000).toPrecision(4)) };
  return { ...row, group, groupConfidence: confidence, groupWhy: why, skew, copyOf };
}

export function surveyGroup({ letter, members, skewPpm, why }: SenderGroup): SurveyGroup {
  const sure = members.filter(({ confidence }) => (confidence ?? 0) >= 0.9).length;
  return {
    group: letter,
    ids: members.map(({ stream }) => formatId(stream.id)),
    skewPpm,
    members: members.map(({ stream, confidence }) => ({ ...idOf(stream), confidence: confidence ?? 0 })),
    why:
      why ??
      `${members.length} identifiers on one clock over the same minutes, ${sure} of them with a confidence of 0.9 or more`,
  };
}

/** From which difference on two senders' clocks can be told apart here. */
export function senderVerdict({ streams }: Senders, stepUs: number): string {
  const errors = streams.flatMap(({ skew }) => (skew ? [skew.lowerHull.se] : []));
  if (errors.length < 2) return 'Too short, or too little on fixed periods, to tell senders apart by their clocks.';
  const apartPpm = APART_SE * Math.SQRT2 * median(Float64Array.from(errors));
  const figure = apartPpm >= 10 ? apartPpm.toFixed(0) : apartPpm.toPrecision(2);
  const told = `Senders' clocks can be told apart where they differ by about ${figure} ppm or more.`;
  if (apartPpm < COARSE_PPM) return told;
  const reason = stepUs >= 1000 ? `stamps step by ${stepUs / 1000} ms` : 'the capture is short';
  return `${told} That is coarse, because ${reason}: many identifiers stay without a sender.`;
}
