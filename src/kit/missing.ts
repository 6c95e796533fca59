/** The one meaning of missing in float columns: no number. Told by `Number.isNaN`, never by zero and never by null. */
export const MISSING = Number.NaN;
