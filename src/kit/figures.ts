/** Figures as a person reads them, the same in every report. */

/** "1,234,567" */
export const grouped = (value: number): string => value.toLocaleString('en-US');
