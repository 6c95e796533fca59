/** Which number comes after which: all pairs of different senders that go together by rank or by value are held against each other in detail. */
import { checkpoint, type Control } from '../../kit/control.ts';
import type { Random } from '../../kit/random.ts';
import type { Courses } from './courses.ts';
import { FollowJudge } from './judge.ts';
import type { Judged } from './judged.ts';
import { LagFit } from './lag-fit.ts';
import { Leads, type Led } from './leads.ts';
import { Looks } from './looks.ts';
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
  const looks = new Looks();
  const lagFit = new LagFit(courses, looks, random);
  const judge = new FollowJudge(courses, lagFit, looks);
  const leads = new Leads(lagFit, looks);
  const judged: Judged[] = [];
  for (const [index, { a, b }] of chosen.entries()) {
    await checkpoint(control, index / chosen.length, 'who follows whom');
    const found = judge.judge(a, b);
    if (found) judged.push(found);
  }
  const led = new Map<Prepared, boolean>();
  const isLed = (field: Prepared): boolean => {
    const known = led.get(field) ?? leads.isLed(field, numbers);
    led.set(field, known);
    return known;
  };
  return { judged, pairs, isLed, ledBy: (field) => leads.ledBy(field, numbers) };
}
