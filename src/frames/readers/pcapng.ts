/**
 * Packet captures in the next-generation format (draft-ietf-opsawg-pcapng), link type 227: several
 * sections in either byte order, several interfaces (each a bus, named by its if_name option), stamp
 * resolutions by powers of ten and of two, stamp offsets, and the direction bits of the flags option.
 */
import { RecordFeed, LONGEST_RECORD } from '../reading/record-feed.ts';
import { LINK_TYPE_CAN, packetText, takePacket } from '../reading/packet.ts';
import type { Consumer, Judgement, ReaderKind, Sample } from '../reading/reader.ts';
import type { Recorder } from '../reading/recorder.ts';

const [SECTION, INTERFACE, PACKET_OLD, SIMPLE, ENHANCED] = [0x0a0d0d0a, 1, 2, 3, 6];
const BYTE_ORDER_MARK = 0x1a2b3c4d;
const [OPTION_END, OPTION_NAME, OPTION_RESOLUTION, OPTION_OFFSET] = [0, 2, 9, 14];
const OPTION_FLAGS = 2;
const OUTBOUND = 2;

interface Interface {
  readonly linkType: number;
  readonly bus: number;
  /** Stamp units in a second. */
  readonly perSecond: number;
  readonly offsetS: number;
  /** Most captured bytes of a packet; 0 is no limit. */
  readonly snapLength: number;
}

const decoder = new TextDecoder('utf-8');

class PcapngConsumer implements Consumer {
  private readonly feed = new RecordFeed((view, at, end) => this.take(view, at, end));
  private little = true;
  private interfaces: Interface[] = [];

  constructor(private readonly recorder: Recorder) {}

  push(bytes: Uint8Array): void {
    this.feed.push(bytes);
  }

  finish(): void {
    const { restBytes } = this.feed;
    if (restBytes > 0)
      this.recorder.ledger.reject('', `the file ends within a block (${restBytes} bytes of it are there)`);
  }

  private take(view: DataView, at: number, end: number): number {
    if (end - at < 12) return 0;
    const type = view.getUint32(at, this.little);
    if (type === SECTION) this.little = view.getUint32(at + 8, true) === BYTE_ORDER_MARK;
    const length = view.getUint32(at + 4, this.little);
    if (length < 12 || length % 4 || length > LONGEST_RECORD) {
      const words = `a block of ${length} bytes: the file is damaged here and cannot be followed further`;
      this.recorder.ledger.reject(packetText(view, at, 12), words);
      return -1;
    }
    if (end - at < length) return 0;
    this.block(view, type, at + 8, at + length - 4);
    return length;
  }

  /** `from..to` is the body of the block. */
  private block(view: DataView, type: number, from: number, to: number): void {
    const { ledger } = this.recorder;
    if (type === SECTION) this.interfaces = [];
    if (type === INTERFACE && to - from >= 8) this.interfaces.push(this.describe(view, from, to));
    if (type !== ENHANCED && type !== PACKET_OLD && type !== SIMPLE) {
      ledger.passedOver++;
      return;
    }
    const reason = type === SIMPLE ? this.simple(view, from, to) : this.enhanced(view, type, from, to);
    if (reason !== null) ledger.reject(packetText(view, from, to - from), reason);
  }

  private describe(view: DataView, from: number, to: number): Interface {
    const options = this.options(view, from + 8, to);
    const nameAt = options.get(OPTION_NAME);
    const given = nameAt ? text(view, nameAt.at, nameAt.length) : '';
    const linkType = view.getUint16(from, this.little);
    const number = 1 + this.interfaces.filter((each) => each.linkType === LINK_TYPE_CAN).length;
    const name = given !== '' ? given : number === 1 ? '' : `${this.recorder.defaultBus}.${number}`;
    const resolution = options.get(OPTION_RESOLUTION);
    const offset = options.get(OPTION_OFFSET);
    return {
      linkType,
      bus: this.recorder.bus(name),
      perSecond: unitsPerSecond(resolution ? view.getUint8(resolution.at) : 6),
      offsetS: offset ? Number(view.getBigInt64(offset.at, this.little)) : 0,
      snapLength: view.getUint32(from + 4, this.little),
    };
  }

  private enhanced(view: DataView, type: number, from: number, to: number): string | null {
    if (to - from < 20) return 'a packet block without room for a packet';
    const number = type === ENHANCED ? view.getUint32(from, this.little) : view.getUint16(from, this.little);
    const source = this.interfaces[number];
    if (!source) return `the packet is of interface ${number}, which is not described`;
    if (source.linkType !== LINK_TYPE_CAN) return `link type ${source.linkType} is not CAN frames (${LINK_TYPE_CAN})`;
    const captured = view.getUint32(from + 12, this.little);
    if (from + 20 + captured > to) return 'the packet is longer than its block';
    const flags = this.options(view, from + 20 + ((captured + 3) & ~3), to).get(OPTION_FLAGS);
    const sent = flags !== undefined && (view.getUint32(flags.at, this.little) & 3) === OUTBOUND;
    const timeUs = this.instant(view.getUint32(from + 4, this.little), view.getUint32(from + 8, this.little), source);
    return takePacket(view, from + 20, captured, source.bus, sent, timeUs, this.recorder);
  }

  /** A simple packet has no stamp: it is placed at the one before. */
  private simple(view: DataView, from: number, to: number): string | null {
    const [source] = this.interfaces;
    if (!source) return 'a simple packet before any interface';
    if (source.linkType !== LINK_TYPE_CAN) return `link type ${source.linkType} is not CAN frames (${LINK_TYPE_CAN})`;
    const original = view.getUint32(from, this.little);
    const limit = source.snapLength === 0 ? original : Math.min(original, source.snapLength);
    const { recorder } = this;
    const timeUs = recorder.stamped ? recorder.lastUs : recorder.unstampedInstant();
    return takePacket(view, from + 4, Math.min(limit, to - from - 4), source.bus, false, timeUs, recorder);
  }

  /** Exact: whole seconds by integers, the fraction below 2^53 units. */
  private instant(high: number, low: number, { perSecond, offsetS }: Interface): number {
    const { recorder } = this;
    const units = high * 0x100000000 + low;
    if (units <= Number.MAX_SAFE_INTEGER) {
      const whole = Math.floor(units / perSecond);
      return this.placed(whole + offsetS, units - whole * perSecond, perSecond);
    }
    const exact = (BigInt(high) << 32n) | BigInt(low);
    const per = BigInt(perSecond);
    recorder.decimals = Math.max(recorder.decimals, 6);
    return this.placed(Number(exact / per) + offsetS, Number(exact % per), perSecond);
  }

  private placed(seconds: number, units: number, perSecond: number): number {
    const { recorder } = this;
    recorder.decimals = Math.max(recorder.decimals, Math.min(9, Math.ceil(Math.log10(perSecond))));
    const fractionUs = perSecond === 1e6 ? units : Math.round((units / perSecond) * 1e9) / 1000;
    return recorder.instant(seconds, fractionUs);
  }

  private options(view: DataView, from: number, to: number): Map<number, { at: number; length: number }> {
    const found = new Map<number, { at: number; length: number }>();
    for (let at = from; at + 4 <= to;) {
      const code = view.getUint16(at, this.little);
      const length = view.getUint16(at + 2, this.little);
      if (code === OPTION_END || at + 4 + length > to) break;
      if (length > 0) found.set(code, { at: at + 4, length });
      at += 4 + ((length + 3) & ~3);
    }
    return found;
  }
}

/** The option's byte: power of ten, or of two where its highest bit is set. */
const unitsPerSecond = (resolution: number): number =>
  resolution & 0x80 ? 2 ** (resolution & 0x7f) : 10 ** resolution;

const text = (view: DataView, at: number, length: number): string =>
  decoder
    .decode(new Uint8Array(view.buffer, view.byteOffset + at, length))
    .replaceAll('\0', '')
    .trim();

export const pcapng: ReaderKind = {
  name: 'pcapng',
  title: 'a packet capture (pcapng) of link type 227',
  isText: false,
  judge({ head }: Sample): Judgement {
    const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
    const isSection = head.length >= 12 && view.getUint32(0) === SECTION;
    const isMarked = isSection && [view.getUint32(8), view.getUint32(8, true)].includes(BYTE_ORDER_MARK);
    if (!isMarked) return { score: 0, words: 'it does not begin with a section header' };
    const links = linkTypes(view);
    if (links.length > 0 && !links.includes(LINK_TYPE_CAN)) {
      return {
        score: 0,
        nearness: 1,
        words: `its link types are ${links.join(', ')}: none is CAN frames (${LINK_TYPE_CAN})`,
      };
    }
    return {
      score: 1,
      words: `packet capture of the next-generation format, link type ${LINK_TYPE_CAN}`,
      open: (recorder) => new PcapngConsumer(recorder),
    };
  },
};

/** Link types of the interfaces that the head describes. */
function linkTypes(view: DataView): number[] {
  const little = view.getUint32(8, true) === BYTE_ORDER_MARK;
  const found = new Set<number>();
  for (let at = 0; at + 12 <= view.byteLength;) {
    const length = view.getUint32(at + 4, little);
    if (view.getUint32(at, little) === INTERFACE) found.add(view.getUint16(at + 8, little));
    if (length < 12) break;
    at += length;
  }
  return [...found];
}
