/** Figures as a person reads them, the same in every report. */

/** "1,234,567" */
export const grouped = (value: number): string => value.toLocaleString('en-US');

/** Thousandths of a confidence, cut: only what is certain (1, placed by hand) may read as certain. */
const thousandths = (confidence: number): number => Math.floor(confidence * 1000 + 1e-6);
/** From here on whole per cents no longer tell one confidence from the next. */
const FINE_FROM = 990;

/** A confidence of 0 to 1 as "91 %", "99.9 %": cut and never rounded up, so that "100 %" is 1 alone. */
export function confidencePercent(confidence: number): string {
  const cut = thousandths(confidence);
  return `${cut > FINE_FROM && cut < 1000 ? (cut / 10).toFixed(1) : Math.floor(cut / 10)} %`;
}

/** A confidence of 0 to 1 for a column, as "0.91", "0.999": cut and never rounded up, so that "1.00" is 1 alone. */
export function confidenceFigure(confidence: number): string {
  const cut = thousandths(confidence);
  return cut > FINE_FROM && cut < 1000 ? (cut / 1000).toFixed(3) : (Math.floor(cut / 10) / 100).toFixed(2);
}
