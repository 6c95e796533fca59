/** What speaks against a claim since its map was merged with another (`disputed`) or carried to another vehicle (`carried`): such keys stay with it. */
interface Doubted {
  readonly disputed?: unknown;
  readonly carried?: { readonly verdict?: unknown };
}

/** For a person, to go behind a name; null where nothing does. claim: of a frame its signal, counter, checksum or selector. */
export function doubtOf(claim: object): string | null {
  const { disputed, carried } = claim as Doubted;
  if (carried?.verdict === 'fails') return 'failed on the vehicle that the map was carried to';
  return disputed === undefined ? null : 'is told differently by the maps that were merged';
}
