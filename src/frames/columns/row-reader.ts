/**
 * Reads the rows of a table by a plan. Cells stay ranges of the line's bytes: numbers, identifiers and
 * hex payloads of the usual shapes are parsed in place, anything else goes through its written-out
 * grammar as text. Words (buses, directions, flags) are recognised by their bytes.
 */
import { FD_BIT_RATE_SWITCH, FD_ERROR_STATE, FD_FORMAT } from '../table.ts';
import { DLC_BYTES, HEX, isFdLength } from '../reading/hex.ts';
import { textOf } from '../reading/lines.ts';
import { NameMatcher } from '../reading/names.ts';
import type { Recorder } from '../reading/recorder.ts';
import { CellCutter } from './cell-cutter.ts';
import { parseId } from './id-text.ts';
import { parsePayload } from './payload-text.ts';
import type { ColumnPlan, PlainRole } from './plan.ts';
import { StampReader } from './stamp-reader.ts';
import { frameKindOf, isSentWord, isSetWord } from './words.ts';

const [DATA, REMOTE, ERROR] = [0, 1, 2];

export class RowReader {
  /** Rows with more payload bytes than their length said. */
  longerThanSaid = 0;
  private readonly cells: CellCutter;
  private readonly stamps: StampReader;
  private readonly payload = new Uint8Array(64);
  private readonly buses: NameMatcher;
  private readonly directions = new NameMatcher((word) => (isSentWord(word) ? 1 : 0));
  private readonly flags = new NameMatcher((word) => (isSetWord(word) ? 1 : 0));
  private readonly kinds = new NameMatcher((word) => KIND_NUMBERS[frameKindOf(word) ?? 'data']);
  private readonly defaultBus: number;
  /** Column of each role that is a word or a number; -1 where there is none. */
  private readonly columns: Readonly<Record<PlainRole, number>>;
  private id = 0;
  private isExtended = false;

  constructor(
    private readonly plan: ColumnPlan,
    private readonly recorder: Recorder,
    zoneS: number,
  ) {
    this.cells = new CellCutter(plan.delimiter);
    this.stamps = new StampReader(plan, zoneS);
    this.buses = new NameMatcher((name) => recorder.bus(name));
    this.defaultBus = recorder.bus('');
    this.columns = columnsOf(plan);
    if (plan.time?.form === 'time-of-day' && plan.plain.date === undefined) recorder.timeOfDay = true;
  }

  /**
   * Cuts the line that begins at `from` and has not been looked for its end; returns where it ends, -1
   * where it has to be cut by its end first. Then ask `take`.
   */
  cutLine(bytes: Uint8Array, from: number, end: number): number {
    return this.cells.cutLine(bytes, from, end);
  }

  cut(bytes: Uint8Array, from: number, to: number): void {
    this.cells.cut(bytes, from, to);
  }

  /** Takes the frame on the line just cut; returns the reason where there is none. */
  take(): string | null {
    const { cells, columns, plan, recorder, stamps } = this;
    const kind = this.word(columns.kind, this.kinds, DATA);
    const stampFault = plan.time ? stamps.read(cells) : null;
    if (stampFault !== null) return stampFault;
    if (plan.time && stamps.decimals > recorder.decimals) recorder.decimals = stamps.decimals;
    if (kind === ERROR) {
      recorder.error(this.bus(), this.instant());
      return null;
    }
    const idFault = this.readId();
    if (idFault !== null) return this.errorRow(plan.id.column) ? null : idFault;
    const sent = this.isSent();
    if (kind === REMOTE || this.word(this.columns.remote, this.flags, 0) === 1) {
      recorder.remote(this.bus(), this.id, this.isExtended, sent);
      return null;
    }
    const length = this.readPayload();
    if (typeof length === 'string')
      return this.remoteRow(sent) || this.errorRow(plan.data?.column ?? -1) ? null : length;
    const bus = this.bus();
    recorder.data(
      bus,
      recorder.slot(bus, this.id, this.isExtended, sent),
      this.instant(),
      this.payload,
      0,
      length,
      this.fdFlags(length),
    );
    return null;
  }

  /** A row that says "error frame" where others have their identifier or payload. */
  private errorRow(column: number): boolean {
    if (column < 0 || frameKindOf(this.cells.text(column)) !== 'error') return false;
    this.recorder.error(this.bus(), this.instant());
    return true;
  }

  /** A row that says "remote frame" where others have their payload. */
  private remoteRow(sent: boolean): boolean {
    const column = this.plan.data?.column ?? -1;
    if (column < 0 || frameKindOf(this.cells.text(column)) !== 'remote') return false;
    this.recorder.remote(this.bus(), this.id, this.isExtended, sent);
    return true;
  }

  /** By a direction's word, or by a flag for either direction. */
  private isSent(): boolean {
    const { direction, sent, received } = this.columns;
    if (direction >= 0) return this.word(direction, this.directions, 0) === 1;
    if (sent >= 0) return this.word(sent, this.flags, 0) === 1;
    return this.word(received, this.flags, 1) === 0;
  }

  private bus(): number {
    return this.word(this.columns.bus, this.buses, this.defaultBus);
  }

  private instant(): number {
    const { plan, recorder, stamps } = this;
    return plan.time ? recorder.instant(stamps.seconds, stamps.fractionUs) : recorder.unstampedInstant();
  }

  /** The number that a matcher has for the word in a column; `otherwise` where there is none. */
  private word(column: number, matcher: NameMatcher, otherwise: number): number {
    if (column < 0 || !this.cells.has(column)) return otherwise;
    const { bytes, starts, ends } = this.cells;
    return matcher.match(bytes, starts[column] as number, ends[column] as number);
  }

  private readId(): string | null {
    const { cells, plan } = this;
    const { column, form } = plan.id;
    if (!cells.has(column)) return 'no identifier';
    const { bytes } = cells;
    const from = cells.starts[column] as number;
    const to = cells.ends[column] as number;
    let value = 0;
    let at = from;
    if (form !== 'decimal' && to - from <= 8) {
      for (let digit; at < to && (digit = HEX[bytes[at] as number] as number) >= 0; at++) value = value * 16 + digit;
    } else if (form === 'decimal' && to - from <= 9) {
      for (let digit; at < to && (digit = (bytes[at] as number) - 48) >= 0 && digit <= 9; at++)
        value = value * 10 + digit;
    }
    let isMarked = form === 'hex-wide' && to - from === 8;
    if (at < to || value > 0x1fffffff) {
      const parsed = parseId(textOf(bytes, from, to), form);
      if (typeof parsed === 'string') return parsed;
      value = parsed.id;
      isMarked = parsed.extended === true;
    }
    this.id = value;
    this.isExtended = isMarked || value > 0x7ff || this.word(this.columns.extended, this.flags, 0) === 1;
    return null;
  }

  /** Fills the payload; returns its length in bytes, or the reason why there is none. */
  private readPayload(): number | string {
    const found = this.plan.data ? this.readDataCell() : this.readByteCells();
    if (typeof found === 'string') return found;
    const column = this.columns.length;
    if (column < 0 || !this.cells.has(column)) return this.heldLength(found);
    const said = this.smallNumber(column);
    if (said < 0) return 'the length cannot be read';
    if (said === found || DLC_BYTES[said] === found || (said > 8 && said < 16 && found === 8))
      return this.heldLength(found);
    const meant = said <= 8 ? said : (DLC_BYTES[said] ?? said);
    if (found < meant) return 'the payload is shorter than its length says';
    this.longerThanSaid++;
    this.payload.fill(0, meant);
    return this.heldLength(meant);
  }

  private heldLength(length: number): number | string {
    return isFdLength(length) ? length : 'the number of payload bytes is neither a classical nor a CAN FD length';
  }

  private readDataCell(): number | string {
    const { cells, payload } = this;
    const { column, form } = this.plan.data as NonNullable<ColumnPlan['data']>;
    if (!cells.has(column)) return 0;
    const { bytes } = cells;
    const from = cells.starts[column] as number;
    const to = cells.ends[column] as number;
    const length =
      form === 'hex' ? this.plainHex(bytes, from, to) : form === 'binary' ? this.plainBinary(bytes, from, to) : -1;
    if (length >= 0) return length;
    const parsed = parsePayload(textOf(bytes, from, to), form);
    if (typeof parsed === 'string') return parsed;
    if (parsed.length > 64) return 'more payload bytes than a frame can hold';
    payload.set(parsed);
    return parsed.length;
  }

  /** Hex pairs with nothing or one space between: -1 for any other shape. */
  private plainHex(bytes: Uint8Array, from: number, to: number): number {
    const { payload } = this;
    let length = 0;
    for (let at = from; at < to;) {
      const high = HEX[bytes[at] as number] as number;
      const low = at + 1 < to ? (HEX[bytes[at + 1] as number] as number) : -1;
      if ((high | low) < 0 || length === 64) return -1;
      payload[length++] = (high << 4) | low;
      at += 2;
      if (bytes[at] === 0x20 && at < to) at++;
    }
    return length;
  }

  private plainBinary(bytes: Uint8Array, from: number, to: number): number {
    const { payload } = this;
    if ((to - from) % 8 || to - from > 512) return -1;
    for (let at = from; at < to; at += 8) {
      let byte = 0;
      for (let i = 0; i < 8; i++) {
        const digit = (bytes[at + i] as number) - 48;
        if (digit !== 0 && digit !== 1) return -1;
        byte = (byte << 1) | digit;
      }
      payload[(at - from) >> 3] = byte;
    }
    return (to - from) >> 3;
  }

  private readByteCells(): number | string {
    const { cells, payload, plan } = this;
    const { column, count, form } = plan.bytes as NonNullable<ColumnPlan['bytes']>;
    const lengthColumn = this.columns.length;
    const said = lengthColumn >= 0 && cells.has(lengthColumn) ? this.smallNumber(lengthColumn) : -1;
    const meant = said <= 8 ? said : (DLC_BYTES[said] ?? said);
    // Between blanks the columns end where the payload ends, so the sample cannot show how many may come.
    const most = said < 0 ? count : plan.delimiter === 'spaces' ? Math.min(64, meant) : Math.min(count, meant);
    let length = 0;
    for (; length < most && cells.has(column + length); length++) {
      const byte = this.byteIn(column + length, form === 'hex');
      if (byte < 0) {
        if (said < 0 && length > 0 && plan.delimiter === 'spaces') break;
        return 'a payload byte cannot be read';
      }
      payload[length] = byte;
    }
    if (said >= 0 && length === most && cells.has(column + most) && most < count) this.longerThanSaid++;
    return length;
  }

  private byteIn(column: number, isHex: boolean): number {
    const { bytes, starts, ends } = this.cells;
    let at = starts[column] as number;
    const to = ends[column] as number;
    if (bytes[at] === 0x30 && ((bytes[at + 1] as number) | 0x20) === 0x78 && to - at > 2) {
      at += 2;
      isHex = true;
    }
    if (to - at > 3 || at === to) return -1;
    let value = 0;
    for (; at < to; at++) {
      const digit = isHex ? (HEX[bytes[at] as number] as number) : (bytes[at] as number) - 48;
      if (digit < 0 || digit > (isHex ? 15 : 9)) return -1;
      value = value * (isHex ? 16 : 10) + digit;
    }
    return value <= 255 ? value : -1;
  }

  /** A whole number of at most two digits, a hex length code or one with 0x; -1 for anything else. */
  private smallNumber(column: number): number {
    const { bytes, starts, ends } = this.cells;
    const from = starts[column] as number;
    const to = ends[column] as number;
    const first = (bytes[from] as number) - 48;
    if (to - from === 1 && first >= 0 && first <= 9) return first;
    const text = this.cells.text(column);
    return /^\d{1,2}$/.test(text) ? Number(text) : /^(0x[0-9a-f]{1,2}|[a-f])$/i.test(text) ? parseInt(text, 16) : -1;
  }

  private fdFlags(length: number): number {
    const isFd = length > 8 || this.word(this.columns.fd, this.flags, 0) === 1;
    if (!isFd) return 0;
    const brs = this.word(this.columns.brs, this.flags, 0) === 1 ? FD_BIT_RATE_SWITCH : 0;
    const esi = this.word(this.columns.esi, this.flags, 0) === 1 ? FD_ERROR_STATE : 0;
    return FD_FORMAT | brs | esi;
  }
}

const columnsOf = ({ plain }: ColumnPlan): Readonly<Record<PlainRole, number>> => ({
  date: plain.date ?? -1,
  milliseconds: plain.milliseconds ?? -1,
  microseconds: plain.microseconds ?? -1,
  nanoseconds: plain.nanoseconds ?? -1,
  bus: plain.bus ?? -1,
  direction: plain.direction ?? -1,
  sent: plain.sent ?? -1,
  received: plain.received ?? -1,
  extended: plain.extended ?? -1,
  length: plain.length ?? -1,
  kind: plain.kind ?? -1,
  remote: plain.remote ?? -1,
  fd: plain.fd ?? -1,
  brs: plain.brs ?? -1,
  esi: plain.esi ?? -1,
});

const KIND_NUMBERS = { data: DATA as number, remote: REMOTE as number, error: ERROR as number };
