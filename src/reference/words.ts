/** What there is to say of a quantity besides its fits, and of the clocks, for a person. */
import type { Quantity } from './setting.ts';
import { AS_GOOD_NATS } from './ranking.ts';
import type { QuantityFits } from './types.ts';

const EVIDENCE_LIMIT = 0.05;

/** Fields that these readings cannot tell from the best: copies of it, or what keeps a constant ratio to it. */
export const asGood = (fits: QuantityFits['fits']): QuantityFits['fits'] =>
  fits.filter(({ behind }) => (behind ?? Number.POSITIVE_INFINITY) < AS_GOOD_NATS);

function equalsWords(name: string, fits: QuantityFits['fits']): string {
  const equal = asGood(fits);
  if (equal.length < 2) return '';
  const told = equal.slice(0, 4).map(({ id, field }) => `${id} ${field}`);
  const more = equal.length > told.length ? ` and ${equal.length - told.length} more` : '';
  return `${name} goes equally well with ${told.join(', ')}${more}: copies, or a constant ratio; these readings cannot tell which is meant`;
}

export function wordsOf({ series, dense }: Quantity, fits: QuantityFits['fits']): string {
  const [best] = fits;
  const { name } = series;
  if (!best) return `no field of this capture follows ${name}: it may be on another bus, or its page was not seen`;
  if ((best.chance ?? 1) <= EVIDENCE_LIMIT) return equalsWords(name, fits);
  const few = dense ? `${name} only drifted` : `${series.value.length} readings`;
  return `not enough evidence to choose a field: ${few}, and others go with it by luck as well; more up and down would tell them apart`;
}

export function clockWords(asked: 'auto' | number, searched: number | null, offsetS: number, rough: string): string {
  const found = `offset ${offsetS < 0 ? '−' : '+'}${Math.abs(offsetS).toFixed(2)} s`;
  const how =
    asked !== 'auto'
      ? `${found}, given by hand`
      : searched === null
        ? 'too few readings to find an offset: taken as they are'
        : `${found}, found where fields and readings go together best`;
  return rough === '' ? how : `${how}. ${rough}`;
}
