/**
 * What the answers of a conversation say: numbers over time by identifier (service 22, unknown in scale, to be named by a person), live values with
 * their units (SAE J1979 service 01), fault codes (service 19 02) with those that say that a partner is not heard. Each answer that could not be
 * read is counted.
 */
import type { Conversation, Exchange, Spoken } from './exchanges.ts';
import { faultCodesOf, type FaultCode } from './fault-codes.ts';
import { LIVE_VALUES, liveBytes } from './live-data.ts';
import { splitAnswers, type Asked } from './split-answer.ts';

const READ_LIVE = 0x01;
const READ_FAULTS = 0x19;
const READ_BY_IDENTIFIER = 0x22;

/** Data of up to so many bytes is read as one number. */
const NUMBER_BYTES = 4;

export interface Reading {
  /** Of the answer's end, microseconds since the origin. */
  readonly atUs: number;
  readonly data: Uint8Array;
}

/** All answers of one module about one identifier. */
export interface ReadingSeries {
  readonly bus: string;
  /** Who answers. */
  readonly id: number;
  readonly extended: boolean;
  readonly address: number | null;
  readonly service: number;
  readonly identifier: number;
  /** Where a standard names it. */
  readonly name: string | null;
  readonly unit: string;
  /** [n] numbers, big-endian unsigned where no standard says how to read them; NaN where the data is longer than 4 bytes. */
  readonly value: readonly number[];
  readonly readings: readonly Reading[];
}

export interface Faults {
  readonly bus: string;
  readonly id: number;
  readonly extended: boolean;
  readonly atUs: number;
  readonly codes: readonly FaultCode[];
}

export interface ConversationReadings {
  readonly series: readonly ReadingSeries[];
  readonly faults: readonly Faults[];
  /** Positive answers by what became of them. */
  readonly read: number;
  readonly ambiguous: number;
  readonly otherServices: number;
}

type Answered = Exchange & { readonly answer: Spoken };

const isAnswered = (exchange: Exchange): exchange is Answered => exchange.kind === 'positive';

function identifiersAsked(request: Uint8Array): number[] {
  const identifiers: number[] = [];
  for (let at = 1; at + 1 < request.length; at += 2)
    identifiers.push(((request[at] as number) << 8) | (request[at + 1] as number));
  return identifiers;
}

/** Live values stand one behind the other, each behind its number, as long as the standard says. */
function splitLive(data: Uint8Array): { identifier: number; data: Uint8Array }[] | null {
  const parts: { identifier: number; data: Uint8Array }[] = [];
  let at = 0;
  while (at < data.length) {
    const identifier = data[at] as number;
    const isOnly = parts.length === 0;
    const bytes = liveBytes(identifier) ?? (isOnly ? data.length - at - 1 : null);
    if (bytes === null || at + 1 + bytes > data.length) return null;
    parts.push({ identifier, data: data.subarray(at + 1, at + 1 + bytes) });
    at += 1 + bytes;
  }
  return parts.length > 0 ? parts : null;
}

/** Unsigned, most significant byte first; NaN where longer than 4 bytes. */
export function numberOf(data: Uint8Array): number {
  if (data.length === 0 || data.length > NUMBER_BYTES) return Number.NaN;
  return data.reduce((sum, byte) => sum * 256 + byte, 0);
}

class SeriesBuilder {
  readonly #open = new Map<
    string,
    { head: Omit<ReadingSeries, 'value' | 'readings'>; readings: Reading[]; value: number[] }
  >();

  add({ answer }: Answered, service: number, identifier: number, data: Uint8Array): void {
    const { stream, address } = answer;
    const key = [stream.id, stream.extended, address, service, identifier].join(' ');
    const live = service === READ_LIVE ? LIVE_VALUES.get(identifier) : undefined;
    const head = { bus: stream.bus, id: stream.id, extended: stream.extended, address, service, identifier };
    const named = { ...head, name: live?.name ?? null, unit: live?.unit ?? '' };
    const own = this.#open.get(key) ?? { head: named, readings: [], value: [] };
    this.#open.set(key, own);
    own.readings.push({ atUs: answer.endUs, data });
    own.value.push(live?.bytes === data.length ? live.read(data) : numberOf(data));
  }

  finish(): ReadingSeries[] {
    const all = [...this.#open.values()].map(({ head, readings, value }) => ({ ...head, readings, value }));
    return all.sort((a, b) => a.id - b.id || a.service - b.service || a.identifier - b.identifier);
  }
}

export function readingsOf({ exchanges }: Conversation): ConversationReadings {
  const positive = exchanges.filter(isAnswered);
  const builder = new SeriesBuilder();
  const faults: Faults[] = [];
  const counts = { read: 0, ambiguous: 0, otherServices: 0 };
  const of = (service: number): Answered[] => positive.filter(({ request }) => request.payload[0] === service);
  const take = (exchange: Answered, parts: readonly { identifier: number; data: Uint8Array }[] | null): void => {
    if (parts) counts.read++;
    else counts.ambiguous++;
    for (const { identifier, data } of parts ?? [])
      builder.add(exchange, exchange.request.payload[0] as number, identifier, data);
  };
  const byIdentifier = of(READ_BY_IDENTIFIER);
  const asked: Asked[] = byIdentifier.map(({ request, answer }) => ({
    identifiers: identifiersAsked(request.payload),
    data: answer.payload.subarray(1),
  }));
  splitAnswers(asked).forEach((parts, index) => take(byIdentifier[index] as Answered, parts));
  for (const exchange of of(READ_LIVE)) take(exchange, splitLive(exchange.answer.payload.subarray(1)));
  for (const { answer } of of(READ_FAULTS)) {
    const codes = faultCodesOf(answer.payload);
    if (codes) {
      counts.read++;
      const { stream } = answer;
      faults.push({ bus: stream.bus, id: stream.id, extended: stream.extended, atUs: answer.endUs, codes });
    } else counts.otherServices++;
  }
  const known = [READ_BY_IDENTIFIER, READ_LIVE, READ_FAULTS];
  counts.otherServices += positive.filter(({ request }) => !known.includes(request.payload[0] as number)).length;
  return { series: builder.finish(), faults, ...counts };
}
