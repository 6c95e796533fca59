/**
 * A tester that asks for values by identifier and modules that answer: service 22 of ISO 14229-1 (positive answer 62, negative 7F 22 code,
 * code 78 for "wait"), in segments of ISO 15765-2 with normal, extended and 29-bit fixed addressing (18DA target source).
 */
import type { PlainFrame } from '../../../src/frames/build-table.ts';
import type { Random } from '../../../src/kit/random.ts';
import { chance, whole } from '../stranger/draw.ts';
import { valueAt } from './columns.ts';
import type { Machine } from './machine.ts';
import type { TrueExchange, TrueIdentifier } from './truth.ts';

export const ADDRESSINGS = ['normal', 'extended', 'fixed'] as const;
export type Addressing = (typeof ADDRESSINGS)[number];

interface Link {
  readonly bus: string;
  readonly requestId: number;
  readonly answerId: number;
  readonly extended: boolean;
  readonly addressing: Addressing;
  /** First byte of each frame with extended addressing: of who is spoken to. */
  readonly moduleAt: number;
  readonly testerAt: number;
  readonly padding: number | null;
  readonly identifiers: readonly TrueIdentifier[];
}

/** Message to frames: single, or first and consecutive ones numbered 1..15, 0, .. room: bytes a frame has for it. */
export function segment(message: readonly number[], room: number): number[][] {
  if (message.length < room) return [[message.length, ...message]];
  const first = [0x10 | (message.length >> 8), message.length & 255, ...message.slice(0, room - 2)];
  const frames = [first];
  for (let at = room - 2, number = 1; at < message.length; at += room - 1, number++)
    frames.push([0x20 | (number & 15), ...message.slice(at, at + room - 1)]);
  return frames;
}

function drawIdentifiers(random: Random, machine: Machine): TrueIdentifier[] {
  const fit = machine.signals.filter(({ kind, high, low }) => kind === 'number' && high - low < 40000);
  const first = random.pick([0x0100, 0x2000, 0xd100, 0xf400]);
  return random
    .shuffle([...fit])
    .slice(0, whole(random, 5, 9))
    .map(({ name, low, high, scale }, at): TrueIdentifier => {
      const bytes = random.pick([1, 2, 2, 4]);
      const room = 2 ** Math.min(16, bytes * 8) - 2;
      const step = Math.max(scale ?? 0, 10 ** Math.ceil(Math.log10((high - low) / room)));
      return {
        did: first + at * random.pick([1, 3]) + (at === 4 ? 0x40 : 0),
        signal: name,
        bytes,
        scale: step,
        offset: low,
      };
    });
}

export function drawLinks(random: Random, machine: Machine, bus: string, wished: Addressing | null): Link[] {
  const addressing = wished ?? random.pick(ADDRESSINGS);
  return Array.from({ length: whole(random, 1, 2) }, (_, at): Link => {
    const moduleAt = 0x10 + at * 0x17 + random.below(9);
    const [low, high] = [0x7a0 + at * 16, 0x7a8 + at * 16];
    const fixed = addressing === 'fixed';
    return {
      bus,
      requestId: fixed ? 0x18da0000 + moduleAt * 256 + 0xf1 : addressing === 'extended' ? 0x6f1 : low,
      answerId: fixed ? 0x18daf100 + moduleAt : addressing === 'extended' ? 0x600 + moduleAt : high,
      extended: fixed,
      addressing,
      moduleAt,
      testerAt: 0xf1,
      padding: random.pick([0x00, 0x55, 0xaa, null]),
      identifiers: drawIdentifiers(random.fork(`link ${at}`), machine),
    };
  });
}

function bytesOf({ bytes, scale, offset }: TrueIdentifier, value: number): number[] {
  const raw = Math.max(0, Math.min(2 ** (bytes * 8) - 1, Math.round((value - offset) / scale)));
  return Array.from({ length: bytes }, (_, at) => Math.floor(raw / 256 ** (bytes - 1 - at)) % 256);
}

export class Talk {
  readonly frames: PlainFrame[] = [];
  readonly exchanges: TrueExchange[] = [];

  constructor(
    private readonly link: Link,
    private readonly random: Random,
    private readonly machine: Machine,
  ) {}

  /** One frame of the tester (or the module); gives when it was sent. */
  private put(atS: number, byTester: boolean, content: readonly number[]): void {
    const { bus, requestId, answerId, extended, addressing, moduleAt, testerAt, padding } = this.link;
    const head = addressing === 'extended' ? [byTester ? moduleAt : testerAt] : [];
    const whole = [...head, ...content];
    const data = padding === null ? whole : [...whole, ...Array<number>(8 - whole.length).fill(padding)];
    this.frames.push({ timeUs: Math.round(atS * 1e6), bus, id: byTester ? requestId : answerId, extended, data });
  }

  private get room(): number {
    return this.link.addressing === 'extended' ? 7 : 8;
  }

  /** A whole message with the other one's flow control; gives the end. */
  private say(atS: number, byTester: boolean, message: readonly number[]): number {
    const { random } = this;
    const [first, ...rest] = segment(message, this.room) as [number[], ...number[][]];
    this.put(atS, byTester, first);
    if (rest.length === 0) return atS;
    let nowS = atS + random.between(0.001, 0.006);
    const block = random.pick([0, 0, 2, 4]);
    rest.forEach((content, at) => {
      if (at === 0 || (block > 0 && at % block === 0)) {
        this.put(nowS, !byTester, [0x30, block, 5]);
        nowS += random.between(0.001, 0.003);
      }
      this.put(nowS, byTester, content);
      nowS += random.between(0.005, 0.009);
    });
    return nowS;
  }

  private positive(asked: readonly TrueIdentifier[], atS: number): number[] {
    const answers = asked.flatMap((each) => {
      const value = valueAt(this.machine.signal(each.signal).column, atS);
      return [each.did >> 8, each.did & 255, ...bytesOf(each, value)];
    });
    return [0x62, ...answers];
  }

  /** Asks once; gives the end. */
  exchange(atS: number, asked: readonly TrueIdentifier[], known: boolean): number {
    const { random, link } = this;
    const dids = known ? asked.map(({ did }) => did) : [0x4e00 + random.below(9)];
    const request = [0x22, ...dids.flatMap((did) => [did >> 8, did & 255])];
    let nowS = this.say(atS, true, request) + random.between(0.003, 0.02);
    const pending = known && chance(random, 0.06) ? whole(random, 1, 2) : 0;
    for (let wait = 0; wait < pending; wait++) {
      this.say(nowS, false, [0x7f, 0x22, 0x78]);
      nowS += random.between(0.04, 0.15);
    }
    const answer = known ? this.positive(asked, nowS) : [0x7f, 0x22, 0x31];
    const { bus, requestId, answerId, extended, addressing } = link;
    this.exchanges.push({ bus, requestId, answerId, extended, addressing, atS, request, answer, pending });
    return this.say(nowS, false, answer);
  }
}

/** Asks all of a recording through, a few identifiers at a time. */
export function diagnose(machine: Machine, random: Random, links: readonly Link[]) {
  const frames: PlainFrame[] = [];
  const exchanges: TrueExchange[] = [];
  links.forEach((link, at) => {
    const own = random.fork(`talk ${at}`);
    const talk = new Talk(link, own, machine);
    const together = whole(own, 1, 3);
    let turn = 0;
    for (let atS = own.between(1, 3); atS < machine.seconds - 2; atS += own.between(0.05, 0.4)) {
      const asked = Array.from(
        { length: together },
        (_, more) => link.identifiers[(turn + more) % link.identifiers.length] as TrueIdentifier,
      );
      turn += together;
      atS = talk.exchange(atS, asked, !chance(own, 0.03));
    }
    frames.push(...talk.frames);
    exchanges.push(...talk.exchanges);
  });
  return { frames, exchanges };
}
