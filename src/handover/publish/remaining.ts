/** What a search of the copy still shows, and whether it is more than what was written there. */
import { bitsSet } from '../../fields/bits-set.ts';
import { isSameNumber, secretsOf } from './same-number.ts';
import { streamKeyText, type BlankRule, type Find, type Search } from './types.ts';

const FILLED_SHARE = 0.7;

/** Whether what a search of the copy found is made of what was written there: letters X and zeros have half bytes that look like digits. */
function isFilling({ occurrences }: Find, rules: readonly BlankRule[]): boolean {
  const own = occurrences.flatMap((each) => each.rules);
  let [bits, filled] = [0, 0];
  for (const rule of own) {
    const others = rules.filter((each) => streamKeyText(each) === streamKeyText(rule));
    for (const { byte, mask } of rule.writes) {
      const value = rule.holds.find((held) => held.byte === byte)?.value ?? 0;
      const agreeing = others
        .flatMap(({ writes }) => writes.filter((written) => written.byte === byte))
        .reduce((all, written) => all | (written.mask & ~(written.value ^ value)), 0);
      bits += bitsSet(mask);
      filled += bitsSet(mask & agreeing);
    }
  }
  return bits > 0 && filled >= FILLED_SHARE * bits;
}

/** What a search of the copy still shows, but for what was kept. */
export function remaining(search: Search, kept: readonly Find[], rules: readonly BlankRule[]): readonly Find[] {
  const secretsKept = kept.flatMap(secretsOf);
  const isKept = ({ secret }: Find): boolean => secretsKept.some((each) => isSameNumber(each, secret));
  return search.finds.filter((find) => {
    if (!find.usual || isKept(find)) return false;
    if (find.kind === 'typed' || find.kind === 'named-in-map') return find.occurrences.length > 0;
    return !isFilling(find, rules);
  });
}
