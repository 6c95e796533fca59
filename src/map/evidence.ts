/** What the evidence of a map's entry says of where it comes from. */

/** Whether a person placed or set it. */
export function isByHand(entry: object): boolean {
  const { evidence } = entry as { readonly evidence?: unknown };
  return Array.isArray(evidence) && evidence.some((one) => (one as { readonly kind?: unknown }).kind === 'by-hand');
}
