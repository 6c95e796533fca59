/**
 * A fit in words: the formula with as many figures as its error allows, the error beside it, and what it rests on.
 * Convention for rounding: the error to one significant figure (two where it begins with 1), the value to match.
 */
import { fixed } from '../../../kit/sheet-figures.ts';

export interface FitFigures {
  readonly scale: number;
  readonly scaleSe: number;
  readonly offset: number;
  readonly offsetSe: number;
  readonly r2: number;
  readonly n: number;
  readonly unit: string;
}

/** Decimals that an error leaves meaning to; null where there is no error to go by. */
function decimalsFromError(error: number): number | null {
  if (!(error > 0) || !Number.isFinite(error)) return null;
  const exponent = Math.floor(Math.log10(error));
  const leading = error / 10 ** exponent;
  return Math.min(12, Math.max(0, -exponent + (leading < 1.95 ? 1 : 0)));
}

const plainFigure = (value: number): string => {
  const text = Number(value.toPrecision(6)).toString();
  return text.replace(/^-/, '−').replace('e-', 'e−');
};

/** An error this far below the value is the arithmetic's, not the measurement's. */
const ROUNDING = 1e-9;

export function figureWithError(
  value: number,
  error: number,
): { readonly value: string; readonly error: string | null } {
  const decimals = error > ROUNDING * Math.abs(value) ? decimalsFromError(error) : null;
  if (decimals === null) return { value: plainFigure(value), error: null };
  return { value: fixed(value, decimals), error: error.toFixed(decimals) };
}

export interface FormulaWords {
  readonly scale: string;
  /** "+ 0.02" or "− 40"; empty where the offset is exactly 0. */
  readonly offset: string;
  readonly unit: string;
  /** "± 0.00002 and ± 0.06, from 112 readings; r² 0.998". */
  readonly trust: string;
}

/** No spread at all is said as that: an error of nothing would be a claim too many. */
function errorWords({ scale: value, scaleSe }: FitFigures, scale: string | null, offset: string | null): string {
  if (scale && offset) return `± ${scale} and ± ${offset}, from `;
  return scaleSe <= ROUNDING * Math.abs(value) ? 'on the line exactly, from ' : 'no error known, from ';
}

export function formulaWords(fit: FitFigures): FormulaWords {
  const scale = figureWithError(fit.scale, fit.scaleSe);
  const offset = figureWithError(Math.abs(fit.offset), fit.offsetSe);
  const errors = errorWords(fit, scale.error, offset.error);
  return {
    scale: scale.value,
    offset: fit.offset === 0 && !offset.error ? '' : `${fit.offset < 0 ? '−' : '+'} ${offset.value}`,
    unit: fit.unit,
    trust: `${errors}${fit.n.toLocaleString('en')} ${fit.n === 1 ? 'reading' : 'readings'}; ${r2Words(fit)}`,
  };
}

export const r2Words = ({ r2 }: Pick<FitFigures, 'r2'>): string =>
  Number.isFinite(r2)
    ? `r² ${Math.min(r2, r2 < 1 ? 0.9999 : 1).toFixed(r2 > 0.9995 && r2 < 1 ? 4 : 3)}`
    : 'r² not known';

/** Leaves less than this share of what another leaves open: then the other may only go along with it. */
const FAR_CLOSER = 0.25;

/** The other field that follows the reference far more closely, or null. `others` best first. */
export function closerFit<F extends Pick<FitFigures, 'r2'>>(r2: number, others: readonly F[]): F | null {
  const [best] = others;
  return best && 1 - best.r2 < FAR_CLOSER * (1 - r2) ? best : null;
}
