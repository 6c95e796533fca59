/**
 * Which messages are requests and which answer them, found by behaviour: an answer repeats the request's service with 0x40 added, or says 0x7F and the
 * service (ISO 14229-1, the same in ISO 14230-3 and SAE J1979), soon after it. Identifiers are not looked up; those that the standards set aside
 * for diagnostics only need less evidence.
 */
import { payloadAt, type FrameTable, type Stream } from '../../frames/table.ts';
import { controlFrameOf, reassemble, type ControlAt, type Transported, type TransportMessage } from './transport.ts';

const ANSWER = 0x40;
const NEGATIVE = 0x7f;
/** Negative code: the request is correct, the answer comes later. */
export const PENDING = 0x78;

/** An answer comes within this of the request, or of the last word that it is pending; testers allow 50 ms to a second and 5 s. */
const ANSWER_MOST_US = 1_000_000;
const PENDING_MOST_US = 6_000_000;

/** A logger that asks itself may stamp its own frame when it learns that it was sent: by so much an answer may seem to come before its request. */
const EARLY_MOST_US = 20_000;

/** Of the frames of a stream, so many are transport frames; of its answers, so many have a request. */
const TRANSPORT_SHARE = 0.9;
const ANSWERED_SHARE = 0.8;
/** Answers that must have a request before identifiers of any kind are believed to converse, and different requests among them. */
const ANSWERS_LEAST = 3;
const DIFFERENT_LEAST = 2;

export interface Spoken extends TransportMessage {
  readonly stream: Stream;
}

export interface Exchange {
  readonly request: Spoken;
  /** Null where nothing came. */
  readonly answer: Spoken | null;
  readonly kind: 'positive' | 'negative' | 'unanswered';
  /** The negative answer's code; null where it is none. */
  readonly negativeCode: number | null;
  /** Times that the answerer said that the answer is pending. */
  readonly pending: number;
}

export interface Conversation {
  readonly bus: string;
  readonly controlAt: ControlAt;
  readonly requests: readonly Voice[];
  readonly answers: readonly Voice[];
  /** In the order of the requests. */
  readonly exchanges: readonly Exchange[];
  /** Messages of the answerers that answer nothing in the capture. */
  readonly unasked: number;
}

/** One stream that takes part, as put together. */
export interface Voice extends Transported {
  readonly stream: Stream;
}

/** Identifiers that ISO 15765-4 (11-bit) and ISO 15765-2 (29-bit, normal fixed and mixed) set aside for diagnostics. */
export function isSetAside({ id, extended }: Stream): boolean {
  if (!extended) return id === 0x7df || (id >= 0x7e0 && id <= 0x7ef);
  const format = (id >>> 16) & 0xff;
  return id >>> 26 === 6 && (format === 0xda || format === 0xdb || format === 0xcd || format === 0xce);
}

/** Frames looked at before a stream is read whole. */
const SAMPLE = 200;

/** Whether a stream may be transport at all, by frames spread over it. */
function mayTransport(stream: Stream, controlAt: ControlAt): boolean {
  const tried = Math.min(SAMPLE, stream.count);
  let fitting = 0;
  for (let k = 0; k < tried; k++)
    if (controlFrameOf(payloadAt(stream, Math.floor((k * stream.count) / tried)), controlAt)) fitting++;
  return fitting >= (TRANSPORT_SHARE - 0.1) * tried;
}

const isTransport = ({ counts: { single, first, consecutive, flowControl, other } }: Transported): boolean => {
  const fitting = single + first + consecutive + flowControl;
  return single + first > 0 && fitting >= TRANSPORT_SHARE * (fitting + other);
};

const serviceOf = ({ payload }: TransportMessage): number => payload[0] as number;

/** Bytes of what was asked for that a positive answer repeats first, by service. */
const REPEATED: ReadonlyMap<number, number> = new Map([
  [0x01, 1],
  [0x09, 1],
  [0x21, 1],
  [0x22, 2],
]);

/** Whether an answer is about something that was asked for; true of services that repeat nothing. */
function repeats({ payload: request }: TransportMessage, { payload: answer }: TransportMessage): boolean {
  const bytes = REPEATED.get(request[0] as number) ?? 0;
  if (bytes === 0) return true;
  for (let at = 1; at + bytes <= request.length; at += bytes)
    if (answer[1] === request[at] && (bytes === 1 || answer[2] === request[at + 1])) return true;
  return false;
}

function answers(request: TransportMessage, answer: TransportMessage): boolean {
  const service = serviceOf(request);
  if (service & ANSWER) return false;
  if (serviceOf(answer) === NEGATIVE) return answer.payload[1] === service && answer.payload.length >= 3;
  return serviceOf(answer) === (service | ANSWER) && repeats(request, answer);
}

const isPending = (answer: TransportMessage): boolean =>
  serviceOf(answer) === NEGATIVE && answer.payload[2] === PENDING;

/** Messages of several streams in the order of their first frames. */
const inOrder = (voices: readonly Voice[]): Spoken[] =>
  voices
    .flatMap(({ stream, messages }) => messages.map((message) => ({ ...message, stream })))
    .sort((a, b) => a.startUs - b.startUs || a.endUs - b.endUs);

interface Open {
  readonly request: Spoken;
  pending: number;
  untilUs: number;
}

export interface Paired {
  readonly exchanges: readonly Exchange[];
  readonly unasked: number;
}

/** Each answer is given to the newest request that it fits and that one answerer has not answered yet. */
export function pairUp(requests: readonly Voice[], answerers: readonly Voice[]): Paired {
  const asked = inOrder(requests);
  const exchanges: Exchange[] = [];
  let unasked = 0;
  const answered = new Set<Spoken>();
  for (const answerer of answerers) {
    const open: Open[] = [];
    let next = 0;
    for (const answer of inOrder([answerer])) {
      for (; next < asked.length && (asked[next] as Spoken).endUs <= answer.startUs + EARLY_MOST_US; next++)
        open.push({
          request: asked[next] as Spoken,
          pending: 0,
          untilUs: (asked[next] as Spoken).endUs + ANSWER_MOST_US,
        });
      while (open.length > 0 && (open[0] as Open).untilUs < answer.startUs) open.shift();
      const fits = ({ request, untilUs }: Open): boolean => untilUs >= answer.startUs && answers(request, answer);
      const before = open.findLastIndex((each) => each.request.endUs <= answer.startUs && fits(each));
      const at = before >= 0 ? before : open.findIndex(fits);
      const own = open[at];
      if (!own) {
        unasked++;
      } else if (isPending(answer)) {
        own.pending++;
        own.untilUs = answer.endUs + PENDING_MOST_US;
      } else {
        const isNegative = serviceOf(answer) === NEGATIVE;
        const negativeCode = isNegative ? (answer.payload[2] as number) : null;
        exchanges.push({
          request: own.request,
          answer,
          kind: isNegative ? 'negative' : 'positive',
          negativeCode,
          pending: own.pending,
        });
        answered.add(own.request);
        open.splice(at, 1);
      }
    }
  }
  for (const request of asked)
    if (!answered.has(request))
      exchanges.push({ request, answer: null, kind: 'unanswered', negativeCode: null, pending: 0 });
  return { exchanges: exchanges.sort((a, b) => a.request.startUs - b.request.startUs), unasked };
}

/** Whether an answerer answers one asker: by how many of its answers have a request, and how different these are. */
function converses(asker: Voice, answerer: Voice): boolean {
  const { exchanges, unasked } = pairUp([asker], [answerer]);
  const pairs = exchanges.filter(({ answer }) => answer !== null);
  if (pairs.length === 0) return false;
  if (isSetAside(asker.stream) && isSetAside(answerer.stream)) return true;
  const different = new Set(pairs.map(({ request }) => request.payload.join())).size;
  const isUsual = pairs.length >= ANSWERED_SHARE * (pairs.length + unasked);
  return isUsual && pairs.length >= ANSWERS_LEAST && different >= DIFFERENT_LEAST;
}

/** Askers and answerers that are tied, directly or through another: one asker may be heard by several, one answerer may hear two. */
function groupsOf(pairs: readonly (readonly [Voice, Voice])[]): [Voice[], Voice[]][] {
  const groups: [Set<Voice>, Set<Voice>][] = [];
  for (const [asker, answerer] of pairs) {
    const tied = groups.filter(([askers, others]) => askers.has(asker) || others.has(answerer));
    const joined: [Set<Voice>, Set<Voice>] = [
      new Set([...tied.flatMap(([askers]) => [...askers]), asker]),
      new Set([...tied.flatMap(([, others]) => [...others]), answerer]),
    ];
    for (const each of tied) groups.splice(groups.indexOf(each), 1);
    groups.push(joined);
  }
  return groups.map(([askers, others]) => [[...askers], [...others]]);
}

/** Of two ways to read the same streams, normal addressing where both make sense: its messages are one byte longer. */
function conversationsAt(streams: readonly Stream[], bus: string, controlAt: ControlAt): Conversation[] {
  const voices = streams
    .filter((stream) => stream.bus === bus && mayTransport(stream, controlAt))
    .map((stream) => ({ stream, ...reassemble(stream, controlAt) }))
    .filter(isTransport);
  const asking = voices.filter(({ messages }) => messages.some((message) => !(serviceOf(message) & ANSWER)));
  const pairs: [Voice, Voice][] = [];
  for (const answerer of voices)
    for (const asker of asking) if (asker !== answerer && converses(asker, answerer)) pairs.push([asker, answerer]);
  return groupsOf(pairs).map(([requests, others]) => ({
    bus,
    controlAt,
    requests,
    answers: others,
    ...pairUp(requests, others),
  }));
}

/** All conversations of a capture, by bus. */
export function findConversations(table: Pick<FrameTable, 'streams'>): readonly Conversation[] {
  const buses = [...new Set(table.streams.map(({ bus }) => bus))];
  return buses.flatMap((bus) => {
    const normal = conversationsAt(table.streams, bus, 0);
    const taken = new Set(normal.flatMap((each) => [...each.requests, ...each.answers]).map(({ stream }) => stream));
    const left = table.streams.filter((stream) => !taken.has(stream));
    return [...normal, ...conversationsAt(left, bus, 1)];
  });
}
