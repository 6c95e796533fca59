/** Which number comes after which: all pairs of different senders that go together by rank or by value are held against each other in detail. */
import { checkpoint, type Control } from '../../kit/control.ts';
import type { Random } from '../../kit/random.ts';
import type { Courses } from './courses.ts';
import { FollowJudge, type Judged, type Led } from './judge.ts';
import { nearPairs } from './nearness.ts';
import type { Prepared } from './prepared.ts';

export interface Follows {
  readonly judged: readonly Judged[];
  readonly pairs: number;
  readonly isLed: (field: Prepared) => boolean;
  readonly ledBy: (field: Prepared) => Led | null;
}

export async function judgeFollows(
  fields: readonly Prepared[],
  courses: Courses,
  random: Random,
  control: Control,
): Promise<Follows> {
  const numbers = fields.filter(({ isNumber }) => isNumber);
  const { chosen, pairs } = nearPairs(numbers, courses.lengthUs);
  const judge = new FollowJudge(courses, random);
  const judged: Judged[] = [];
  for (const [index, { a, b }] of chosen.entries()) {
    await checkpoint(control, index / chosen.length, 'who follows whom');
    const found = judge.judge(a, b);
    if (found) judged.push(found);
  }
  const led = new Map<Prepared, boolean>();
  const isLed = (field: Prepared): boolean => {
    const known = led.get(field) ?? judge.isLed(field, numbers);
    led.set(field, known);
    return known;
  };
  return { judged, pairs, isLed, ledBy: (field) => judge.ledBy(field, numbers) };
}
