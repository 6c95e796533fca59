/** What the proof says of true maps and of maps with planted faults, against what the captures exercise. */
import type { Random } from '../../src/kit/random.ts';
import { proveMap } from '../../src/proof/hold/prove-map.ts';
import type { ProofItem } from '../../src/proof/hold/types.ts';
import type { ProofCase } from './proof-cases.ts';
import { exercised } from './proof-exercised.ts';
import { FAULTS, plantFaults, type FaultKind } from './proof-faults.ts';

const keyOf = ({ item, name }: ProofItem): string => `${item} ${name}`;

export interface TrueScore {
  /** Items that the capture exercises, and those of them that hold. */
  readonly exercised: number;
  readonly held: number;
  readonly refused: number;
  readonly unexercised: number;
  /** Unexercised ones that were called held. */
  readonly heldUnexercised: number;
  readonly wrong: readonly string[];
}

/** Guards that nothing can compute are never to be held. */
const isSecret = (name: string): boolean => /^(mac|unsolved) /.test(name);

export async function scoreTrue({ name, map, second }: ProofCase): Promise<TrueScore> {
  const { frames } = await proveMap({ table: second, map });
  const score = { exercised: 0, held: 0, refused: 0, unexercised: 0, heldUnexercised: 0 };
  const wrong: string[] = [];
  for (const [index, frame] of map.frames.entries()) {
    const told = exercised(frame, second);
    for (const item of frames[index]?.items ?? []) {
      const isTold = told.has(keyOf(item));
      const holds = item.verdict === 'holds';
      score[isTold ? 'exercised' : 'unexercised']++;
      if (item.verdict === 'fails') score.refused++;
      if (holds) score[isTold ? 'held' : 'heldUnexercised']++;
      if (isTold !== holds || (isSecret(item.name) && holds))
        wrong.push(`${name} ${frame.id} ${keyOf(item)}: ${item.verdict}, ${item.detail}`);
    }
  }
  return { ...score, wrong };
}

export interface FaultTally {
  readonly exercised: number;
  readonly refused: number;
  readonly unexercised: number;
  readonly refusedUnexercised: number;
}

export interface FaultScore {
  readonly kinds: Readonly<Record<FaultKind, FaultTally>>;
  /** Items refused that no fault touches. */
  readonly refusedElse: number;
  readonly wrong: readonly string[];
}

export async function scoreFaults(each: ProofCase, random: Random): Promise<FaultScore> {
  const { map, faults } = plantFaults(each, random);
  const { frames } = await proveMap({ table: each.second, map });
  const kinds = Object.fromEntries(
    FAULTS.map((kind) => [kind, { exercised: 0, refused: 0, unexercised: 0, refusedUnexercised: 0 }]),
  ) as Record<FaultKind, { -readonly [Key in keyof FaultTally]: number }>;
  const wrong: string[] = [];
  const touched = new Set<string>();
  for (const fault of faults) {
    const items = frames[fault.frame]?.items ?? [];
    const own = items.filter((item) => fault.items.includes(keyOf(item)));
    const isRefused = own.some(({ verdict }) => verdict === 'fails');
    for (const item of own) touched.add(`${fault.frame} ${keyOf(item)}`);
    const tally = kinds[fault.kind];
    tally[fault.exercised ? 'exercised' : 'unexercised']++;
    if (isRefused) tally[fault.exercised ? 'refused' : 'refusedUnexercised']++;
    if (fault.exercised && !isRefused) wrong.push(`${each.name} passes: ${fault.kind}, ${fault.words}`);
  }
  const others = frames.flatMap((frame, index) =>
    frame.items.filter((item) => item.verdict === 'fails' && !touched.has(`${index} ${keyOf(item)}`)),
  );
  wrong.push(...others.map((item) => `${each.name} refused beside the faults: ${keyOf(item)}: ${item.detail}`));
  return { kinds, refusedElse: others.length, wrong };
}
