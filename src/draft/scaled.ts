/**
 * What references say about signals: each quantity goes to the field that follows it best, if that is more than luck, and
 * each field takes the quantity that it follows best. The round scale is used where it lies within the
 * error, with both figures kept in the evidence.
 */
import { fitInUnit } from '../reference/in-unit.ts';
import { asGood } from '../reference/words.ts';
import type { Fit, FitReport, QuantityFits } from '../reference/types.ts';
import { codedValue, placementLength } from '../frames/bits.ts';
import { decodedByTable } from '../map/bent-signal.ts';
import type { Evidence, MapSignal } from '../map/schema.ts';
import { slugOf } from './names.ts';
import { isOf } from './marked.ts';
import type { FrameKey } from './types.ts';

const SURE_CHANCE = 0.05;

interface Claim {
  readonly quantity: QuantityFits;
  readonly fit: Fit;
}

/** Sure fits that come first for their quantity, the closest first. */
function claimsOf(report: FitReport | null | undefined): Claim[] {
  return (report?.quantities ?? [])
    .flatMap((quantity) => quantity.fits.slice(0, 1).map((fit) => ({ quantity, fit })))
    .filter(({ fit }) => (fit.chance ?? 1) <= SURE_CHANCE)
    .sort((a, b) => b.fit.r2 - a.fit.r2);
}

function fitEvidence({ quantity, fit }: Claim, capture: string): Evidence {
  const { scale, scaleSe, offset, offsetSe, simpleScale, lagS, r2, n } = fit;
  const equals = asGood(quantity.fits).length - 1;
  return {
    kind: 'fit',
    capture,
    quantity: quantity.name,
    unit: quantity.unit,
    scale,
    scaleSe,
    offset,
    offsetSe,
    simpleScale,
    lagS,
    r2,
    n,
    ...(fit.range ? { range: { ...fit.range } } : {}),
    ...(fit.chance === undefined ? {} : { chance: Number(fit.chance.toPrecision(3)) }),
    ...(equals > 0 ? { asGood: equals } : {}),
  };
}

/** As many digits as the error leaves. */
function roundedTo(value: number, error: number): number {
  if (!(error > 0) || value === 0) return value;
  const digits = Math.ceil(Math.log10(Math.abs(value) / error)) + 1;
  return Number(value.toPrecision(Math.min(15, Math.max(3, digits))));
}

/** The observed range was in raw values of the proposed coding; it moves with scale and coding. */
function observedAs(signal: MapSignal, coding: Fit['coding'], scale: number, offset: number): MapSignal['observed'] {
  if (!signal.observed) return null;
  const length = placementLength(signal);
  if (length > 53) return null;
  const rawOf = (physical: number): number => {
    const coded = (physical - signal.offset) / signal.scale;
    return coded < 0 ? coded + 2 ** length : coded;
  };
  const crosses = coding !== signal.coding && signal.observed.min !== signal.observed.max;
  if (crosses) return null;
  const ends = [signal.observed.min, signal.observed.max].map(
    (physical) => codedValue(rawOf(physical), coding, length) * scale + offset,
  );
  return { min: Math.min(...ends), max: Math.max(...ends) };
}

export interface ScaledSignal {
  readonly signal: MapSignal;
  readonly suggested: string | null;
}

/** A signal that a table turns into its unit: what was observed is what the table spans. */
function bentSignal(
  signal: MapSignal,
  claim: Claim,
  table: NonNullable<Fit['table']>,
  unit: string,
  capture: string,
): MapSignal {
  return {
    ...decodedByTable(signal, table),
    coding: claim.fit.coding,
    unit,
    states: {},
    evidence: [...signal.evidence, fitEvidence(claim, capture)],
  };
}

/** A signal by the reference that it follows, if any: in its own unit where it has one, else in the reference's. */
export function scaleSignal(
  signal: MapSignal,
  frame: FrameKey,
  report: FitReport | null | undefined,
  capture: string,
): ScaledSignal {
  const claim = claimsOf(report).find(({ fit }) => isOf(fit, frame, signal));
  if (!claim) return { signal, suggested: null };
  const { quantity } = claim;
  const known = signal.unit ? fitInUnit(claim.fit, quantity.name, quantity.unit, signal.unit) : null;
  const fit = known ?? claim.fit;
  const unit = known ? signal.unit : quantity.unit;
  const scale = fit.simpleScale ?? roundedTo(fit.scale, fit.scaleSe);
  const offset = fit.simpleScale === null ? roundedTo(fit.offset, fit.offsetSe) : (fit.simpleOffset ?? fit.offset);
  if (fit.table)
    return { signal: bentSignal(signal, claim, fit.table, unit, capture), suggested: slugOf(quantity.name) };
  const scaled: MapSignal = {
    ...signal,
    kind: 'number',
    coding: fit.coding,
    scale,
    offset,
    unit,
    observed: observedAs(signal, fit.coding, scale, offset),
    states: {},
    evidence: [...signal.evidence, fitEvidence(claim, capture)],
  };
  return { signal: scaled, suggested: slugOf(quantity.name) };
}
