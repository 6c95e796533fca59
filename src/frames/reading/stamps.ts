/**
 * Stamps as people and loggers write them: plain numbers in a unit, dates (ISO 8601 and the usual local
 * orders), times of day. A stamp is kept as whole seconds plus a fraction in microseconds, never in one
 * double: at epoch seconds that would resolve only 0.24 us. Days from dates by the civil calendar rule
 * (proleptic Gregorian, 400-year eras).
 */
export interface Stamp {
  /** Whole seconds; negative for a negative stamp. */
  seconds: number;
  /** 0..1e6, same sign as the stamp; exact for whole microseconds, nanoseconds as 0.001. */
  fractionUs: number;
  /** Decimals of the stamp counted in seconds: 3 for milliseconds. */
  decimals: number;
}

/** Power of ten that turns a number of this unit into seconds: 3 for milliseconds. */
export type TimeUnit = 'seconds' | 'milliseconds' | 'microseconds' | 'nanoseconds';
export const UNIT_DECIMALS: Readonly<Record<TimeUnit, number>> = {
  seconds: 0,
  milliseconds: 3,
  microseconds: 6,
  nanoseconds: 9,
};

/** Digits in groups of three that no decimal mark can be taken for: 1'234'567 or with no-break spaces. */
const GROUPED = /^([+-]?\d{1,3})((?:['\u2019\u00a0\u202f]\d{3})+)([.,]\d+)?$/;

/** A stamp's text without brackets around, without a unit behind, and without marks between thousands. */
export function plainStamp(text: string): string {
  const bare = text
    .replace(/^[[({]|[\])}]$/g, '')
    .replace(/(\d)\s*(s|sec|ms|msec|us|usec|\u00b5s|\u03bcs|ns)$/i, '$1')
    .trim();
  const parts = GROUPED.exec(bare);
  return parts ? `${parts[1]}${(parts[2] as string).replace(/\D/g, '')}${parts[3] ?? ''}` : bare;
}

/** The unit written behind a stamp; null where there is none. */
export function unitBehind(text: string): TimeUnit | null {
  const unit = /\d\s*(s|sec|ms|msec|us|usec|\u00b5s|\u03bcs|ns)[\])}]?$/i.exec(text)?.[1]?.toLowerCase();
  if (unit === undefined) return null;
  return unit[0] === 's'
    ? 'seconds'
    : unit[0] === 'm'
      ? 'milliseconds'
      : unit[0] === 'n'
        ? 'nanoseconds'
        : 'microseconds';
}

const NUMBER = /^([+-]?)(\d+)(?:[.,](\d*))?$/;

/** A plain number of the given unit; null for anything else, exponents ("1.5E+09") included. */
export function parseNumberStamp(text: string, unit: TimeUnit): Stamp | null {
  const parts = NUMBER.exec(text);
  if (!parts) return null;
  const shift = UNIT_DECIMALS[unit];
  const whole = (parts[2] as string).padStart(shift + 1, '0');
  const fraction = whole.slice(whole.length - shift) + (parts[3] ?? '');
  const sign = parts[1] === '-' ? -1 : 1;
  const seconds = sign * Number(shift === 0 ? whole : whole.slice(0, -shift));
  if (shift === 0) return { seconds, fractionUs: sign * fractionOf(parts[3] ?? ''), decimals: parts[3]?.length ?? 0 };
  return { seconds, fractionUs: sign * fractionOf(fraction), decimals: fraction.length };
}

/** "123456" -> 123456 us, "5" -> 500000 us; beyond nanoseconds rounded. */
function fractionOf(digits: string): number {
  if (digits.length <= 6) return Number(digits.padEnd(6, '0'));
  return Math.round(Number(`${digits.slice(0, 9).padEnd(9, '0')}.${digits.slice(9)}`)) / 1000;
}

/** Days since 1970-01-01. */
function daysFromCivil(year: number, month: number, day: number): number {
  const y = month <= 2 ? year - 1 : year;
  const era = Math.floor(y / 400);
  const yearOfEra = y - era * 400;
  const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + day - 1;
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146097 + dayOfEra - 719468;
}

export type DateOrder = 'day-first' | 'month-first';

const TIME = String.raw`(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,:](\d{1,9}))?)?\s*([AaPp]\.?[Mm]\.?)?`;
const ZONE = String.raw`\s*(Z|UTC|GMT|[+-]\d{2}:?\d{2}|[+-]\d{2})?`;
const YEAR_FIRST = new RegExp(String.raw`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ,_]\s*${TIME}${ZONE})?$`, 'i');
const YEAR_LAST = new RegExp(String.raw`^(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})(?:[T ,_]\s*${TIME}${ZONE})?$`, 'i');
const TIME_ALONE = new RegExp(`^${TIME}${ZONE}$`);

interface TimeOfDay {
  readonly seconds: number;
  readonly fraction: string;
}

function timeOfDay(parts: readonly (string | undefined)[], at: number): TimeOfDay | null {
  if (parts[at] === undefined) return { seconds: 0, fraction: '' };
  const half = parts[at + 4]?.[0]?.toLowerCase();
  const hours = Number(parts[at]);
  const minutes = Number(parts[at + 1]);
  const seconds = Number(parts[at + 2] ?? '0');
  if (minutes > 59 || seconds > 60 || hours > (half ? 12 : 24)) return null;
  const hours24 = half ? (hours % 12) + (half === 'p' ? 12 : 0) : hours;
  return { seconds: (hours24 * 60 + minutes) * 60 + seconds, fraction: parts[at + 3] ?? '' };
}

/** Seconds east of UTC: "Z", "UTC", "+02:00", "-0530", "+02". Null for anything else. */
export function parseZone(text: string): number | null {
  if (/^(Z|UTC|GMT)$/i.test(text)) return 0;
  const parts = /^([+-])(\d{2}):?(\d{2})?$/.exec(text);
  if (!parts) return null;
  return (parts[1] === '-' ? -1 : 1) * (Number(parts[2]) * 3600 + Number(parts[3] ?? '0') * 60);
}

function stampOf(seconds: number, fraction: string): Stamp {
  return { seconds, fractionUs: fractionOf(fraction), decimals: fraction.length };
}

const MONTHS = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'];
/** Beginnings of month names in other languages that differ from the English ones. Common practice, no source. */
const MONTHS_ELSEWHERE: Readonly<Record<string, number>> = {
  mai: 5,
  mrz: 3,
  okt: 10,
  dez: 12,
  ago: 8,
  ene: 1,
  dic: 12,
};
const NAMED_MONTH = new RegExp(
  String.raw`^(\d{1,2})\.?[-/ ]([a-z]{3})[a-z]*\.?,?[-/ ](\d{4})[T ,_]\s*${TIME}${ZONE}$`,
  'i',
);
const YEAR_AT_END = new RegExp(
  String.raw`^(?:[a-z]{3,9},?\s+)?([a-z]{3})[a-z]*\.?\s+(\d{1,2})\s+${TIME}\s+(\d{4})$`,
  'i',
);
const COMPACT = /^(\d{4})(\d\d)(\d\d)[T_ -](\d\d):?(\d\d):?(\d\d)(?:[.,](\d{1,9}))?(Z|[+-]\d\d:?\d\d)?$/i;

function monthOf(name: string): number {
  const start = name.toLowerCase().slice(0, 3);
  return MONTHS_ELSEWHERE[start] ?? MONTHS.indexOf(start) + 1;
}

/** The other ways of writing a date, rewritten with the year first; the text itself where it is none of them. */
function yearFirst(text: string): string {
  const compact = COMPACT.exec(text);
  if (compact) {
    const [, year, month, day, hours, minutes, seconds, fraction = '0', zone = ''] = compact;
    return `${year}-${month}-${day} ${hours}:${minutes}:${seconds}.${fraction}${zone}`;
  }
  const named = NAMED_MONTH.exec(text);
  if (named) return `${named[3]}-${monthOf(named[2] as string)}-${named[1]} ${text.slice(text.search(/\d\d?:/))}`;
  const atEnd = YEAR_AT_END.exec(text);
  if (!atEnd) return text;
  const time = /\d\d?:\S+(?:\s*[ap]\.?m\.?)?/i.exec(text)?.[0] ?? '';
  return `${atEnd[8]}-${monthOf(atEnd[1] as string)}-${atEnd[2]} ${time}`;
}

/** A date with or without a time of day, as seconds since 1970. `zoneS` is for stamps that name no zone. */
export function parseDateStamp(written: string, zoneS: number, order: DateOrder): Stamp | null {
  const text = /[a-z]{3}|^\d{8}\D/i.test(written) ? yearFirst(written) : written;
  const inOrder = YEAR_FIRST.exec(text);
  const parts = inOrder ?? YEAR_LAST.exec(text);
  if (!parts) return null;
  const [, a, b, c] = parts.map(Number) as [number, number, number, number];
  const [year, month, day] = inOrder ? [a, b, c] : order === 'day-first' ? [c, b, a] : [c, a, b];
  const time = timeOfDay(parts, 4);
  if (!time || month < 1 || month > 12 || day < 1 || day > 31) return null;
  const zone = parts[9] === undefined ? zoneS : (parseZone(parts[9]) ?? zoneS);
  return stampOf(daysFromCivil(year, month, day) * 86400 + time.seconds - zone, time.fraction);
}

const MINUTES_ALONE = /^(\d{1,3}):(\d{2})[.,](\d{1,9})$/;

/** "10:15:32.123" as seconds since midnight, "15:32.123" as seconds since the hour (spreadsheets write so). */
export function parseTimeOfDay(text: string): Stamp | null {
  const minutes = MINUTES_ALONE.exec(text);
  if (minutes && Number(minutes[2]) < 60) {
    return stampOf(Number(minutes[1]) * 60 + Number(minutes[2]), minutes[3] as string);
  }
  const parts = TIME_ALONE.exec(text);
  if (!parts || parts[3] === undefined) return null;
  const time = timeOfDay(parts, 1);
  return time && stampOf(time.seconds, time.fraction);
}
