/** Hypotheses of which frames a part needs and which disturb it, drawn once for the candidates of a record and always the same ones. */
import { createRandom, type Random } from '../../kit/random.ts';
import type { Candidate } from './answers.ts';

const HYPOTHESES = 15000;
const SEED = 1;
/** Of one, of two, of three that disturb; judgement, no source. */
const DISTURBING = [0.55, 0.3, 0.15] as const;
/** A further one is of the same sender so often. */
const SAME_SENDER = 0.5;

/** [hypotheses] each: indices of candidates. */
export interface Drawn {
  readonly needed: readonly (readonly number[])[];
  readonly disturbing: readonly (readonly number[])[];
  /** By candidate: the hypotheses in which it is needed, and those in which it disturbs. */
  readonly neededIn: readonly (readonly number[])[];
  readonly disturbingIn: readonly (readonly number[])[];
}

function drawDisturbing(candidates: readonly Candidate[], free: readonly number[], random: Random): number[] {
  const at = random.next();
  const count = at < DISTURBING[0] ? 1 : at < DISTURBING[0] + DISTURBING[1] ? 2 : 3;
  const drawn: number[] = [];
  while (drawn.length < Math.min(count, free.length)) {
    const first = drawn[0];
    const group = first === undefined ? null : (candidates[first]?.group ?? null);
    const near = free.filter((i) => candidates[i]?.group === group && !drawn.includes(i));
    const far = free.filter((i) => !drawn.includes(i));
    drawn.push(random.pick(group !== null && near.length > 0 && random.next() < SAME_SENDER ? near : far));
  }
  return drawn;
}

function listsOf(sets: readonly (readonly number[])[], count: number): number[][] {
  const lists = Array.from({ length: count }, (): number[] => []);
  sets.forEach((set, h) => set.forEach((i) => lists[i]?.push(h)));
  return lists;
}

function draw(candidates: readonly Candidate[]): Drawn {
  const random = createRandom(SEED);
  const needed: number[][] = [];
  const disturbing: number[][] = [];
  const indices = candidates.map((_, i) => i);
  while (needed.length < HYPOTHESES) {
    const mine = indices.filter((i) => random.next() < (candidates[i] as Candidate).likelihood);
    const free = indices.filter((i) => !mine.includes(i));
    if (free.length === 0) continue;
    needed.push(mine);
    disturbing.push(drawDisturbing(candidates, free, random));
  }
  const count = candidates.length;
  return { needed, disturbing, neededIn: listsOf(needed, count), disturbingIn: listsOf(disturbing, count) };
}

const drawn = new WeakMap<readonly Candidate[], Drawn>();
/** Once for the candidates of a record. */
export function drawOnce(candidates: readonly Candidate[]): Drawn {
  const known = drawn.get(candidates) ?? draw(candidates);
  drawn.set(candidates, known);
  return known;
}
