/** A checksum's rule and its proof in words for a person. */
import type { MapChecksum } from '../../map/schema.ts';
import type { Verified } from './find.ts';

function ruleWords(rule: MapChecksum): string {
  const covers = (rule.covers ?? []).map((entry) => (typeof entry === 'number' ? entry : entry.byte));
  const over = `bytes ${covers.join(', ')}`;
  switch (rule.method) {
    case 'xor':
      return `Exclusive or over ${over}, starting from ${rule.init}`;
    case 'sum':
      return `Sum of ${rule.unit === 'nibble' ? 'nibbles' : 'bytes'} ${rule.carry === 'end-around' ? 'with end-around carry, ' : ''}modulo 2^${rule.width} over ${over}, starting from ${rule.init}, final value ${rule.xorout}`;
    case 'copy':
      return `Copy of ${over} with every bit turned over`;
    default:
      return `CRC of ${rule.width} bits, polynomial ${rule.poly}, start ${rule.init}, final value ${rule.xorout}${rule.refin ? ', reflected' : ''}, over ${over}`;
  }
}

function constantWords(rule: MapChecksum): string {
  if (rule.prefixByCounter || rule.suffixByCounter) return ' with a byte picked by the counter';
  if (rule.suffix?.length) return ` followed by ${rule.suffix.join(' ')}`;
  return rule.prefix?.length ? ` preceded by ${rule.prefix.join(' ')}` : '';
}

export function whyOfRule(rule: MapChecksum, verified: Verified, tests: number, rivals: number): string {
  const choice = rivals > 0 ? ' Too little moved to settle the rule: others fit this capture as well.' : '';
  return (
    `${ruleWords(rule)}${constantWords(rule)}: right in ${verified.passed} of ${verified.checked} frames, ` +
    `${tests} of them independent of each other.${choice}`
  );
}
