/** Two versions of one counter, checksum or selector: the same bits on the same pages. */
import { isByHand } from '../../map/evidence.ts';
import type { MapChecksum, MapCounter, MapSelector } from '../../map/schema.ts';
import { isSame, union, without } from './canonical.ts';
import type { MergedPart } from './merge-signal.ts';
import { choose, inDispute, stillDisputed, undisputed, type Ranked } from './rank.ts';

/** What a rule leaves out stands for these. */
const UNSAID = {
  unit: 'byte',
  carry: 'drop',
  prefix: [],
  suffix: [],
  prefixByCounter: [],
  suffixByCounter: [],
  every: 1,
};
const BESIDE = ['name', 'confidence', 'evidence', 'undetermined', 'continues', 'lsb', 'length', 'order', 'when'];

const ruleOf = (guard: Ranked): unknown => without({ ...UNSAID, ...guard }, BESIDE);
/** Found no rule; that a person says so is a decision. */
const isUnsolved = (guard: Ranked): boolean => guard['method'] === 'unsolved' && !isByHand(guard);

type Guard = MapCounter | MapChecksum | MapSelector;

/** One rule, or one of them has none: what both know. Bits that either could determine are determined. */
function united(a: Ranked, b: Ranked, side: 'first' | 'second'): Ranked {
  const [chosen, other] = side === 'first' ? [a, b] : [b, a];
  const solved = isUnsolved(chosen) ? other : chosen;
  const lists = [a, b]
    .filter((guard) => !isUnsolved(guard))
    .map((guard) => guard['undetermined'] as unknown[] | undefined);
  const [x, y = x] = lists;
  const undetermined =
    x && y ? x.filter((bit) => y.some((twin) => isSame(bit, twin))) : (solved['undetermined'] as unknown);
  const evidence = union(a.evidence ?? [], b.evidence ?? []);
  return {
    ...other,
    ...chosen,
    ...(isUnsolved(chosen) ? solved : {}),
    confidence:
      isUnsolved(a) !== isUnsolved(b) ? (solved.confidence ?? 0) : Math.max(a.confidence ?? 0, b.confidence ?? 0),
    ...(undetermined === undefined ? {} : { undetermined }),
    ...(evidence.length > 0 ? { evidence } : {}),
  };
}

export function mergeGuard<T extends Guard>(first: T, second: T): MergedPart<T> {
  if (isSame(first, second))
    return { item: first, outcome: 'equal', kept: null, decided: true, detail: '', aside: null };
  const [a, b] = [undisputed(first as Ranked), undisputed(second as Ranked)];
  const { side, decided } = choose([a], [b]);
  const oneUnsolved = isUnsolved(a) !== isUnsolved(b);
  if (isSame(ruleOf(a), ruleOf(b)) || oneUnsolved) {
    const detail = oneUnsolved
      ? `the ${isUnsolved(a) ? 'second' : 'first'} solved it`
      : 'one rule; what each knows besides is taken together';
    return {
      item: stillDisputed(united(a, b, side), [first, second] as Ranked[]) as unknown as T,
      outcome: 'united',
      kept: null,
      decided: true,
      detail,
      aside: null,
    };
  }
  const [chosen, other] = side === 'first' ? [a, b] : [b, a];
  return {
    item: (decided ? chosen : inDispute(chosen)) as unknown as T,
    outcome: 'conflict',
    kept: side,
    decided,
    detail: 'their rules differ',
    aside: other as unknown as T,
  };
}
