/** What there is to say of a quantity besides its fits, and of the clocks, for a person. */
import type { Quantity } from './setting.ts';
import type { QuantityFits } from './types.ts';

const EVIDENCE_LIMIT = 0.05;

export function wordsOf({ series, dense }: Quantity, fits: QuantityFits['fits']): string {
  const [best] = fits;
  const { name } = series;
  if (!best) return `no field of this capture follows ${name}: it may be on another bus, or its page was not seen`;
  if ((best.chance ?? 1) <= EVIDENCE_LIMIT) return '';
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
