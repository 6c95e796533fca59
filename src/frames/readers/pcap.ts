/**
 * Packet captures in the classic format (draft-ietf-opsawg-pcap), link type 227: both byte orders,
 * microsecond and nanosecond stamps. One capture is one bus.
 */
import { RecordFeed, LONGEST_RECORD } from '../reading/record-feed.ts';
import { LINK_TYPE_CAN, packetText, takePacket } from '../reading/packet.ts';
import type { Consumer, Judgement, ReaderKind, Sample } from '../reading/reader.ts';
import type { Recorder } from '../reading/recorder.ts';

const FILE_HEADER = 24;
const RECORD_HEADER = 16;
/** First four bytes, read big-endian. */
const KINDS = new Map([
  [0xa1b2c3d4, { little: false, perUs: 1 }],
  [0xd4c3b2a1, { little: true, perUs: 1 }],
  [0xa1b23c4d, { little: false, perUs: 1000 }],
  [0x4d3cb2a1, { little: true, perUs: 1000 }],
]);

interface Shape {
  readonly little: boolean;
  /** Units of the fraction per microsecond. */
  readonly perUs: number;
}

class PcapConsumer implements Consumer {
  private readonly feed = new RecordFeed((view, at, end) => this.take(view, at, end));
  private isPastHeader = false;
  private readonly bus: number;

  constructor(
    private readonly recorder: Recorder,
    private readonly shape: Shape,
  ) {
    this.bus = recorder.bus('');
    recorder.decimals = shape.perUs === 1 ? 6 : 9;
  }

  push(bytes: Uint8Array): void {
    this.feed.push(bytes);
  }

  finish(): void {
    const { restBytes } = this.feed;
    if (restBytes > 0)
      this.recorder.ledger.reject('', `the file ends within a record (${restBytes} bytes of it are there)`);
  }

  private take(view: DataView, at: number, end: number): number {
    if (!this.isPastHeader) {
      if (end - at < FILE_HEADER) return 0;
      this.isPastHeader = true;
      return FILE_HEADER;
    }
    if (end - at < RECORD_HEADER) return 0;
    const { recorder, shape } = this;
    const captured = view.getUint32(at + 8, shape.little);
    if (captured > LONGEST_RECORD) {
      recorder.ledger.reject(
        packetText(view, at, 16),
        `a record of ${captured} bytes: the file is damaged here and cannot be followed further`,
      );
      return -1;
    }
    if (end - at < RECORD_HEADER + captured) return 0;
    const fractionUs = view.getUint32(at + 4, shape.little) / shape.perUs;
    const timeUs = recorder.instant(view.getUint32(at, shape.little), fractionUs);
    const reason = takePacket(view, at + RECORD_HEADER, captured, this.bus, false, timeUs, recorder);
    if (reason !== null) recorder.ledger.reject(packetText(view, at + RECORD_HEADER, captured), reason);
    return RECORD_HEADER + captured;
  }
}

export const pcap: ReaderKind = {
  name: 'pcap',
  title: 'a packet capture (pcap) of link type 227',
  isText: false,
  judge({ head }: Sample): Judgement {
    const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
    const shape = head.length >= 4 ? KINDS.get(view.getUint32(0)) : undefined;
    if (!shape) return { score: 0, words: 'it does not begin with the mark of a packet capture' };
    if (head.length < FILE_HEADER) return { score: 0, nearness: 1, words: 'the file ends within its header' };
    const linkType = view.getUint32(20, shape.little) & 0xffff;
    if (linkType !== LINK_TYPE_CAN)
      return {
        score: 0,
        nearness: 1,
        words: `its link type is ${linkType}, which is not CAN frames (${LINK_TYPE_CAN})`,
      };
    const words = `packet capture, ${shape.little ? 'little' : 'big'}-endian, ${shape.perUs === 1 ? 'microsecond' : 'nanosecond'} stamps, link type ${LINK_TYPE_CAN}`;
    return { score: 1, words, open: (recorder) => new PcapConsumer(recorder, shape) };
  },
};
