/** Identifiers in a sentence: a few by name, the others by number. */
const NAMED_MOST = 6;

export function namesOf(identifiers: readonly { readonly id: string }[]): string {
  const named = identifiers.slice(0, NAMED_MOST).map(({ id }) => id);
  const more = identifiers.length - named.length;
  return more > 0 ? `${named.join(', ')} and ${more} more` : named.join(', ');
}
