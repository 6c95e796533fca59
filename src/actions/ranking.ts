/**
 * Strongest first. Among links about as surprising as the strongest, the earlier one comes first: what a person
 * touches directly answers before what follows from it.
 */
import type { Link } from './types.ts';

const ABOUT_AS_STRONG = 0.75;

export function rankClaims(links: readonly Link[]): Link[] {
  const strongest = Math.max(0, ...links.map(({ surprise }) => surprise ?? 0));
  const isTop = ({ surprise }: Link): boolean => (surprise ?? 0) >= ABOUT_AS_STRONG * strongest;
  const top = links.filter(isTop).sort((a, b) => a.lagS - b.lagS);
  const rest = links.filter((link) => !isTop(link)).sort((a, b) => (b.surprise ?? 0) - (a.surprise ?? 0));
  return [...top, ...rest];
}
