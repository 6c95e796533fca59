/**
 * The diagnostics of a capture told: who asks whom, how often, what was answered, and each identifier's readings as a reference on the capture's own
 * clock. Plain data.
 */
import type { FrameTable } from '../../frames/table.ts';
import { formatId, hexDigits } from '../../kit/units.ts';
import type { ReferenceFile, ReferenceSeries } from '../types.ts';
import { findConversations, type Conversation, type Voice } from './exchanges.ts';
import { findLongMessages, type LongMessages } from './long-messages.ts';
import { readingsOf, type ConversationReadings, type Faults, type ReadingSeries } from './readings.ts';
import type { TransportCounts } from './transport.ts';

interface SpeakerReport {
  readonly id: string;
  readonly extended: boolean;
  readonly frames: number;
  readonly messages: number;
  readonly counts: TransportCounts;
}

interface NegativeReport {
  readonly service: number;
  readonly code: number;
  readonly count: number;
}

export interface IdentifierReport {
  /** As `fit` names it: "0x7EF 22 C218". */
  readonly name: string;
  /** Where a standard names it. */
  readonly meaning: string | null;
  readonly unit: string;
  readonly id: string;
  readonly extended: boolean;
  readonly service: number;
  readonly identifier: number;
  readonly n: number;
  /** Data bytes, ascending; more than one where the length differs. */
  readonly bytes: readonly number[];
  /** Null where the data is no number, or a text. */
  readonly min: number | null;
  readonly max: number | null;
  readonly distinct: number;
  /** Where all data are printable, the newest. */
  readonly text: string | null;
}

export interface ConversationReport {
  readonly bus: string;
  readonly addressing: 'normal' | 'with address byte';
  readonly requests: readonly SpeakerReport[];
  readonly answers: readonly SpeakerReport[];
  readonly positive: number;
  readonly negative: number;
  readonly unanswered: number;
  /** Answers without a request in the capture. */
  readonly unasked: number;
  readonly negatives: readonly NegativeReport[];
  /** Positive answers read, open in where their values begin, and of services that hold no readings. */
  readonly read: number;
  readonly ambiguous: number;
  readonly otherServices: number;
  readonly identifiers: readonly IdentifierReport[];
  readonly faults: readonly Faults[];
}

export interface DiagnosticsReport {
  readonly conversations: readonly ConversationReport[];
  readonly longMessages: LongMessages['counts'] & { readonly messages: number };
}

/** "0x7EF 22 C218" */
export function readingName({ id, address, service, identifier }: ReadingSeries): string {
  const to = address === null ? '' : ` ${hexDigits(address, 2)}`;
  return `${formatId(id)}${to} ${hexDigits(service, 2)} ${hexDigits(identifier, service === 0x22 ? 4 : 2)}`;
}

const speaker = ({ stream, messages, counts }: Voice): SpeakerReport => ({
  id: formatId(stream.id),
  extended: stream.extended,
  frames: stream.count,
  messages: messages.length,
  counts,
});

const TEXT_LEAST = 4;
const isPrintable = (byte: number): boolean => byte >= 0x20 && byte < 0x7f;

/** Text where every reading is letters, digits and signs from first to last, fillings behind aside. */
function textOf({ readings }: ReadingSeries): string | null {
  const texts = readings.map(({ data }) => {
    let end = data.length;
    while (end > 0 && (data[end - 1] === 0 || data[end - 1] === 0xff)) end--;
    const letters = data.subarray(0, end);
    return letters.length >= TEXT_LEAST && letters.every(isPrintable) ? String.fromCharCode(...letters) : null;
  });
  return texts.includes(null) ? null : (texts.at(-1) ?? null);
}

function identifierReport(series: ReadingSeries): IdentifierReport {
  const { value, readings, service, identifier, unit, name, id, extended } = series;
  const text = textOf(series);
  const known = text === null ? value.filter((each) => !Number.isNaN(each)) : [];
  return {
    name: readingName(series),
    meaning: name,
    unit,
    id: formatId(id),
    extended,
    service,
    identifier,
    n: readings.length,
    bytes: [...new Set(readings.map(({ data }) => data.length))].sort((a, b) => a - b),
    min: known.length > 0 ? Math.min(...known) : null,
    max: known.length > 0 ? Math.max(...known) : null,
    distinct: new Set(readings.map(({ data }) => data.join())).size,
    text,
  };
}

function negativesOf({ exchanges }: Conversation): NegativeReport[] {
  const counts = new Map<string, NegativeReport>();
  for (const { request, negativeCode } of exchanges) {
    if (negativeCode === null) continue;
    const service = request.payload[0] as number;
    const key = `${service} ${negativeCode}`;
    counts.set(key, { service, code: negativeCode, count: (counts.get(key)?.count ?? 0) + 1 });
  }
  return [...counts.values()].sort((a, b) => b.count - a.count);
}

function conversationReport(conversation: Conversation, readings: ConversationReadings): ConversationReport {
  const { bus, controlAt, requests, answers, exchanges, unasked } = conversation;
  const count = (of: string): number => exchanges.filter(({ kind }) => kind === of).length;
  const { series, faults, read, ambiguous, otherServices } = readings;
  return {
    bus,
    addressing: controlAt === 0 ? 'normal' : 'with address byte',
    requests: requests.map(speaker),
    answers: answers.map(speaker),
    positive: count('positive'),
    negative: count('negative'),
    unanswered: count('unanswered'),
    unasked,
    negatives: negativesOf(conversation),
    read,
    ambiguous,
    otherServices,
    identifiers: series.map(identifierReport),
    faults,
  };
}

export interface Diagnostics {
  readonly report: DiagnosticsReport;
  /** Readings of numbers, seconds from the capture's origin. */
  readonly reference: ReferenceFile;
}

function referenceOf(series: readonly ReadingSeries[]): ReferenceSeries[] {
  return series
    .filter((each) => textOf(each) === null)
    .flatMap((each) => {
      const known = each.value.flatMap((value, index) => (Number.isNaN(value) ? [] : [index]));
      if (known.length === 0) return [];
      const timeS = Float64Array.from(
        known,
        (index) => (each.readings[index] as ReadingSeries['readings'][number]).atUs / 1e6,
      );
      const name = each.name ? `${readingName(each)} ${each.name}` : readingName(each);
      return [
        { name, unit: each.unit, timeS, value: Float64Array.from(known, (index) => each.value[index] as number) },
      ];
    });
}

/** Cost: O(frames of streams that may be diagnostics). */
export function diagnosticsOf(table: Pick<FrameTable, 'streams'>): Diagnostics {
  const conversations = findConversations(table);
  const readings = conversations.map(readingsOf);
  const long = findLongMessages(table);
  return {
    report: {
      conversations: conversations.map((each, index) =>
        conversationReport(each, readings[index] as ConversationReadings),
      ),
      longMessages: { ...long.counts, messages: long.messages.length },
    },
    reference: { timeBase: 'capture', series: referenceOf(readings.flatMap(({ series }) => series)) },
  };
}
