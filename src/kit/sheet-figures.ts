/** Figures as the sheet prints them: units always, true minus, thin grouping, no false precision. */
const MINUS = '\u2212';
const grouped = new Intl.NumberFormat('en', { maximumFractionDigits: 0 });

export const count = (value: number): string => grouped.format(value);
const trueMinus = (text: string): string => text.replace(/^-/, MINUS);
/** Never "−0.0": what rounds to zero has no sign. */
export const fixed = (value: number, digits: number): string => {
  const text = value.toFixed(digits);
  return Number(text) === 0 ? text.replace('-', '') : trueMinus(text);
};
export const signed = (value: number, digits: number): string => (value > 0 ? '+' : '') + fixed(value, digits);

export const plural = (n: number, one: string, many = `${one}s`): string => `${count(n)} ${n === 1 ? one : many}`;

/** "1:47.62"; hours only where there are some. */
export function clock(s: number, digits = 2): string {
  const sign = s < 0 ? MINUS : '';
  const step = 10 ** digits;
  const total = Math.round(Math.abs(s) * step) / step;
  const hours = Math.floor(total / 3600);
  const minutes = Math.floor(total / 60) % 60;
  const rest = (total % 60).toFixed(digits).padStart(digits ? digits + 3 : 2, '0');
  return hours ? `${sign}${hours}:${String(minutes).padStart(2, '0')}:${rest}` : `${sign}${minutes}:${rest}`;
}

/** "6 min 52 s", "0.4 s", "4 ms", "2 h 5 min": how long something lasts. */
export function duration(s: number): string {
  if (s > 0 && s < 0.095) return `${s < 0.00095 ? fixed(s * 1000, 1) : fixed(s * 1000, 0)} ms`;
  if (s < 10) return `${fixed(s, 1)} s`;
  const whole = Math.round(s);
  if (whole < 60) return `${whole} s`;
  const minutes = Math.floor(whole / 60);
  if (minutes < 60) return whole % 60 ? `${minutes} min ${whole % 60} s` : `${minutes} min`;
  return minutes % 60 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min` : `${minutes / 60} h`;
}

export function bytes(n: number): string {
  if (n < 1000) return `${n} B`;
  if (n < 1e6) return `${(n / 1e3).toFixed(n < 1e4 ? 1 : 0)} kB`;
  if (n < 1e9) return `${(n / 1e6).toFixed(1)} MB`;
  return `${(n / 1e9).toFixed(2)} GB`;
}

/** A period in the unit a person would say it in. */
export function period(ms: number | null): string {
  if (ms === null) return 'on change';
  if (ms >= 999.5) return `${trimZeros((ms / 1000).toFixed(2))} s`;
  return `${trimZeros(ms < 10 ? ms.toFixed(1) : ms.toFixed(0))} ms`;
}
/** How far frames stray from their grid. */
export function jitter(ms: number | null): string {
  if (ms === null) return 'none to tell';
  return ms < 0.1 ? `${fixed(ms * 1000, ms < 0.01 ? 1 : 0)} us` : `${Number(ms.toPrecision(2))} ms`;
}
const trimZeros = (text: string): string => (text.includes('.') ? text.replace(/\.?0+$/, '') : text);

/** A measured value with about four significant figures. */
export function value(v: number): string {
  if (!Number.isFinite(v)) return '';
  const size = Math.abs(v);
  if (size >= 1000) return trueMinus(grouped.format(v));
  if (size >= 100 || Number.isInteger(v)) return trueMinus(v.toFixed(0));
  if (size >= 10) return trueMinus(v.toFixed(1));
  return trueMinus(trimZeros(v.toPrecision(3)));
}

export const percent = (share: number, digits = 0): string => `${fixed(share * 100, digits)} %`;
