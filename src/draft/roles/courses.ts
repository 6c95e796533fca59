/** Courses of fields on even instants, kept while pairs are held against each other. */
import { courseOf, followed, type Course } from './course.ts';
import type { Prepared } from './prepared.ts';

/** Points of plain courses kept at most, 8 bytes each. */
const POINTS_KEPT = 2 ** 23;

/** Courses, the plain ones as many as there is room for; those followed by a lag of one leader at a time, as pairs come sorted by leader. */
export class Courses {
  private leader: Prepared | null = null;
  private readonly lagging = new Map<string, Course>();
  private readonly plain = new Map<Prepared, Map<number, Course>>();
  private points = 0;
  constructor(readonly lengthUs: number) {}

  of(leader: Prepared, stepUs: number, constantUs: number): Course {
    if (constantUs === 0) return this.plainOf(leader, stepUs);
    if (leader !== this.leader) {
      this.leader = leader;
      this.lagging.clear();
    }
    const key = `${stepUs} ${constantUs}`;
    const course = this.lagging.get(key) ?? followed(this.plainOf(leader, stepUs), constantUs);
    this.lagging.set(key, course);
    return course;
  }

  private plainOf(leader: Prepared, stepUs: number): Course {
    const own = this.plain.get(leader) ?? new Map<number, Course>();
    const known = own.get(stepUs);
    if (known) return known;
    const course = courseOf(leader.field, stepUs, this.lengthUs);
    this.points += course.value.length;
    if (this.points > POINTS_KEPT) {
      this.plain.clear();
      own.clear();
      this.points = course.value.length;
    }
    this.plain.set(leader, own.set(stepUs, course));
    return course;
  }
}
