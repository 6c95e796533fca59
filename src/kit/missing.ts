/** One meaning of missing: NaN in float columns, -1 in index columns. Only these predicates know. */
export const MISSING = Number.NaN;
export const NO_INDEX = -1;
export const isMissing = (value: number): boolean => Number.isNaN(value);
export const isNoIndex = (value: number): boolean => value === NO_INDEX;
