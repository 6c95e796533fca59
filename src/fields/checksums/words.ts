/** A checksum's rule and its proof in words for a person. */
import { grouped } from '../../kit/figures.ts';
import type { MapChecksum } from '../../map/schema.ts';
import type { Attempt, Lent } from './attempt.ts';
import type { Verified } from './judge.ts';

function ruleWords(rule: MapChecksum): string {
  const covers = (rule.covers ?? []).map((entry) => (typeof entry === 'number' ? entry : entry.byte));
  const over = `bytes ${covers.join(', ')}`;
  switch (rule.method) {
    case 'xor':
      return `Exclusive or over ${over}, initial value ${rule.init}`;
    case 'sum':
      return `Sum of ${rule.unit === 'nibble' ? 'nibbles' : 'bytes'} ${rule.carry === 'end-around' ? 'with end-around carry, ' : ''}modulo 2^${rule.width} over ${over}, initial value ${rule.init}, final xor ${rule.xorout}`;
    case 'copy':
      return `Copy of ${over} with every bit turned over`;
    default:
      return `CRC of ${rule.width} bits, polynomial ${rule.poly}, initial value ${rule.init}, final xor ${rule.xorout}${rule.refin ? ', reflected' : ''}, over ${over}`;
  }
}

function constantWords(rule: MapChecksum): string {
  if (rule.prefixByCounter || rule.suffixByCounter) return ' with a byte picked by the counter';
  if (rule.suffix?.length) return ` followed by ${rule.suffix.join(' ')}`;
  return rule.prefix?.length ? ` preceded by ${rule.prefix.join(' ')}` : '';
}

const oddsOf = (bits: number): string =>
  bits > 30 ? 'less than one of a thousand million' : `one of ${grouped(Math.round(2 ** bits))}`;

function lentWords({ frames, surplusBits }: Lent): string {
  const whose =
    frames === 0
      ? 'Other identifiers of the bus have their tag there, or a rule akin to it'
      : `It is the rule of ${frames} other identifier${frames === 1 ? '' : 's'} of the bus`;
  return ` ${whose}; by chance it would fit here in ${oddsOf(surplusBits)} cases.`;
}

function heldOutWords({ passed, checked, heldOut }: Verified): string {
  const all = `right in ${grouped(passed)} of ${grouped(checked)} frames`;
  if (heldOut.checked === 0) return `${all}, none of which was left to hold it against`;
  return `${all}; held on ${grouped(heldOut.passed)} of ${grouped(heldOut.checked)} frames not used to find it`;
}

/** tests: payloads that are independent of each other. */
export function whyOfRule(rule: MapChecksum, verified: Verified, tests: number, { rivals, lent }: Attempt): string {
  const choice = rivals > 0 ? ' Too little moved to settle the rule: others fit this capture as well.' : '';
  return (
    `${ruleWords(rule)}${constantWords(rule)}: ${heldOutWords(verified)}; ` +
    `${grouped(tests)} payloads are independent of each other.${lent ? lentWords(lent) : ''}${choice}`
  );
}
