/** Which signals of a map a reference speaks of: those that were fitted to the quantity of its name, or are called so themselves. */
import { conversionBetween, type Conversion } from '../../../kit/unit-conversion.ts';
import type { MapSignal } from '../../../map/schema.ts';
import type { ReferenceSeries } from '../../../reference/types.ts';
import type { HeldSignal } from '../held-signal.ts';

export interface SpokenOf {
  readonly held: HeldSignal;
  /** From the reference's unit to the map's. */
  readonly conversion: Conversion;
  /** `fit`: the map's evidence names the quantity. `name`: only the names are the same. */
  readonly by: 'fit' | 'name';
}

/** Letters and digits alone, so that "DC voltage", "dc_voltage" and "Dc-Voltage" are one name. */
const plain = (name: string): string =>
  name
    .toLowerCase()
    .replaceAll(/[^\p{L}\p{N}]+/gu, ' ')
    .trim();

const isFittedTo = ({ evidence }: MapSignal, name: string): boolean =>
  evidence.some(
    (one) => one.kind === 'fit' && typeof one['quantity'] === 'string' && plain(one['quantity']) === plain(name),
  );

const isNumber = ({ kind, coding }: MapSignal): boolean => kind === 'number' && coding !== 'text';

/** Null of units of different kinds: a name alone does not make a voltage of a speed. */
export function spokenOf(series: Pick<ReferenceSeries, 'name' | 'unit'>, held: HeldSignal): SpokenOf | null {
  const { signal } = held.compiled;
  if (!isNumber(signal)) return null;
  const by = isFittedTo(signal, series.name) ? 'fit' : plain(signal.name) === plain(series.name) ? 'name' : null;
  const conversion = by && conversionBetween(series.unit, signal.unit);
  return by && conversion ? { held, conversion, by } : null;
}

/** The readings in the map's unit. */
export const inMapUnit = (series: ReferenceSeries, { scale, offset }: Conversion): ReferenceSeries => ({
  ...series,
  value: series.value.map((value) => value * scale + offset),
});
