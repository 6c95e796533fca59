/**
 * The stamp of a row. Numbers are read digit by digit into whole seconds and a fraction; of a date only
 * the fraction is read anew as long as the text up to the second stays the same.
 */
import {
  parseDateStamp,
  parseNumberStamp,
  parseTimeOfDay,
  plainStamp,
  type Stamp,
  type TimeUnit,
  UNIT_DECIMALS,
} from '../reading/stamps.ts';
import type { CellCutter } from './cell-cutter.ts';
import type { ColumnPlan } from './plan.ts';
import { FRACTION_DECIMALS, type FractionRole } from './split-stamp.ts';

const POWERS = [1e6, 1e5, 1e4, 1e3, 100, 10, 1];
const ROUNDED = 'a spreadsheet has turned the stamp into a rounded number';

export class StampReader {
  seconds = 0;
  fractionUs = 0;
  decimals = 0;
  private readonly column: number;
  private readonly dateColumn: number | undefined;
  private readonly unit: TimeUnit | null;
  private readonly unitDecimals: number;
  private readonly areSteps: boolean;
  private elapsedUs = 0;
  private readonly fractionColumn: number;
  private readonly fractionDecimals: number;
  /** Text up to the second of the last date, as bytes, and what it meant. */
  private cached = new Uint8Array(0);
  private cachedSeconds = 0;

  constructor(
    private readonly plan: ColumnPlan,
    private readonly zoneS: number,
  ) {
    this.column = plan.time?.column ?? 0;
    this.dateColumn = plan.plain.date;
    const fraction = (Object.keys(FRACTION_DECIMALS) as FractionRole[]).find((role) => plan.plain[role] !== undefined);
    this.fractionColumn = fraction ? (plan.plain[fraction] ?? -1) : -1;
    this.fractionDecimals = fraction ? FRACTION_DECIMALS[fraction] : 0;
    const form = plan.time?.form ?? 'seconds';
    this.areSteps = form.endsWith('-steps');
    const unit = form.replace('-steps', '') as TimeUnit;
    this.unit = unit in UNIT_DECIMALS ? unit : null;
    this.unitDecimals = this.unit ? UNIT_DECIMALS[unit] : -1;
  }

  /** Sets seconds and fraction; returns the reason where there is no stamp. */
  read(cells: CellCutter): string | null {
    const fault = this.readWhole(cells);
    return fault !== null || this.fractionColumn < 0 ? fault : this.addFraction(cells);
  }

  /** The fraction of the second from its own column. */
  private addFraction(cells: CellCutter): string | null {
    const text = cells.text(this.fractionColumn);
    if (!/^\d+$/.test(text) || text.length > this.fractionDecimals) return 'the fraction of the second cannot be read';
    this.fractionUs += Number(text) / 10 ** (this.fractionDecimals - 6);
    this.decimals = this.fractionDecimals;
    return null;
  }

  private readWhole(cells: CellCutter): string | null {
    if (!cells.has(this.column)) return 'no stamp';
    const from = cells.starts[this.column] as number;
    const to = cells.ends[this.column] as number;
    if (this.unitDecimals >= 0) return this.number(cells, from, to);
    if (this.dateColumn === undefined && this.sameSecond(cells.bytes, from, to)) return null;
    return this.dateText(cells);
  }

  private number(cells: CellCutter, from: number, to: number): string | null {
    const fault = this.plainNumber(cells.bytes, from, to) ? null : this.numberText(cells);
    if (fault !== null || !this.areSteps) return fault;
    this.elapsedUs += this.seconds * 1e6 + this.fractionUs;
    this.seconds = 0;
    this.fractionUs = this.elapsedUs;
    return null;
  }

  /** Digits, at most one point or comma; false for anything else. */
  private plainNumber(bytes: Uint8Array, from: number, to: number): boolean {
    const { unitDecimals } = this;
    let at = from;
    let seconds = 0;
    for (let byte; at < to && isDigit((byte = bytes[at] as number)); at++) seconds = seconds * 10 + byte - 48;
    if (at === from || at - from > 19) return false;
    let fraction = 0;
    if (unitDecimals > 0) {
      const split = at - unitDecimals;
      seconds = 0;
      for (let i = from; i < split; i++) seconds = seconds * 10 + (bytes[i] as number) - 48;
      for (let i = Math.max(split, from); i < at; i++) fraction = fraction * 10 + (bytes[i] as number) - 48;
    }
    let decimals = unitDecimals;
    if (at < to) {
      if (bytes[at] !== 0x2e && bytes[at] !== 0x2c) return false;
      for (at++; at < to && decimals < 9; at++, decimals++) {
        if (!isDigit(bytes[at] as number)) return false;
        fraction = fraction * 10 + (bytes[at] as number) - 48;
      }
      if (at < to) return false;
    }
    this.seconds = seconds;
    this.fractionUs = decimals <= 6 ? fraction * (POWERS[decimals] as number) : fraction / 10 ** (decimals - 6);
    this.decimals = decimals;
    return true;
  }

  private numberText(cells: CellCutter): string | null {
    const text = plainStamp(cells.text(this.column));
    const stamp = parseNumberStamp(text, this.unit ?? 'seconds');
    if (stamp) return this.take(stamp);
    return /^-?\d+([.,]\d+)?E[+-]?\d+$/i.test(text) ? ROUNDED : 'the stamp cannot be read';
  }

  private dateText(cells: CellCutter): string | null {
    const alone = cells
      .text(this.column)
      .replace(/^[[({]|[\])}]$/g, '')
      .trim();
    const text = this.dateColumn === undefined ? alone : `${cells.text(this.dateColumn)} ${alone}`;
    const { form } = this.plan.time as { form: string };
    const order = form === 'date-day-first' ? 'day-first' : 'month-first';
    const stamp =
      form === 'time-of-day' && this.dateColumn === undefined
        ? parseTimeOfDay(text)
        : parseDateStamp(text, this.zoneS, order);
    if (!stamp) return 'the stamp cannot be read';
    this.remember(cells, stamp);
    return this.take(stamp);
  }

  private take(stamp: Stamp): null {
    this.seconds = stamp.seconds;
    this.fractionUs = stamp.fractionUs;
    this.decimals = stamp.decimals;
    return null;
  }

  private remember(cells: CellCutter, stamp: Stamp): void {
    const from = cells.starts[this.column] as number;
    const to = cells.ends[this.column] as number;
    const point = to - stamp.decimals - 1;
    const mark = cells.bytes[point];
    const isPlain =
      stamp.decimals > 0 && point > from && (mark === 0x2e || mark === 0x2c) && isDigit(cells.bytes[to - 1] as number);
    this.cached = isPlain ? cells.bytes.slice(from, point + 1) : new Uint8Array(0);
    this.cachedSeconds = stamp.seconds;
  }

  private sameSecond(bytes: Uint8Array, from: number, to: number): boolean {
    const { cached } = this;
    const decimals = to - from - cached.length;
    if (cached.length === 0 || decimals < 1 || decimals > 6) return false;
    for (let i = 0; i < cached.length; i++) if (cached[i] !== bytes[from + i]) return false;
    let fraction = 0;
    for (let at = to - decimals; at < to; at++) {
      if (!isDigit(bytes[at] as number)) return false;
      fraction = fraction * 10 + (bytes[at] as number) - 48;
    }
    this.seconds = this.cachedSeconds;
    this.fractionUs = fraction * (POWERS[decimals] as number);
    this.decimals = decimals;
    return true;
  }
}

const isDigit = (byte: number): boolean => byte >= 48 && byte <= 57;
