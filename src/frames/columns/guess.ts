/**
 * Decides what the columns of a table are, by measured facts over many rows and by headings where they
 * help: the payload first (it is the most unlike anything else), then the stamp, the identifier, the
 * length that agrees with the payload, and the words for bus, direction and flags.
 */
import type { Problem } from '../../kit/outcome.ts';
import type { Steps } from '../pictures/steps.ts';
import { type ColumnFacts, factsOf } from './facts.ts';
import { guessIdForm } from './id-form.ts';
import { type ParsedId, parseId } from './id-text.ts';
import { findPayload, type PayloadPlace } from './payload-columns.ts';
import type { ColumnPlan, ColumnRef, PartialPlan, PlainRole, TimeForm } from './plan.ts';
import {
  ALMOST_ALL,
  MOSTLY,
  busScore,
  dateScore,
  directionScore,
  extendedScore,
  flagScore,
  idScore,
  kindScore,
  lengthScore,
  sentFlagScore,
  stepScore,
  timeFormOf,
  timeScore,
} from './role-scores.ts';
import { findSplitStamp, type FractionRole, type SplitStamp } from './split-stamp.ts';
import type { SampleRows } from './rows.ts';
import { plainHeading } from './words.ts';

export interface Guess {
  readonly plan: ColumnPlan;
  /** One sentence a decision, for a person. */
  readonly words: readonly string[];
  readonly facts: readonly ColumnFacts[];
  /** The unit that the heading names, where another was taken. */
  readonly headingSaid: TimeForm | null;
  readonly warnings: readonly Problem[];
}

/** The plan, or what is missing for one. */
export function* guessPlan(rows: SampleRows, given: PartialPlan): Steps<Guess | string> {
  const facts: ColumnFacts[] = [];
  for (const [column, heading] of rows.headings.entries()) {
    const cells = rows.rows.map((row) => row[column] as string);
    facts.push(yield* factsOf(column, heading, cells));
  }
  return new Guesser(facts, given, rows).run();
}

class Guesser {
  private readonly taken = new Set<number>();
  private readonly words: string[] = [];
  private readonly warnings: Problem[] = [];
  /** Column of the fraction of the second, where it has one of its own. */
  private readonly fraction: Partial<Record<FractionRole, number>> = {};

  constructor(
    private readonly facts: readonly ColumnFacts[],
    private readonly given: PartialPlan,
    private readonly rows: SampleRows,
  ) {}

  run(): Guess | string {
    const { given } = this;
    const missing = this.takeGiven();
    if (missing) return missing;
    const payload = this.payload();
    if (!payload) return 'no column holds payloads';
    const time = this.time();
    const id = this.id();
    if (id === null) return this.whyNoId();
    const plain = this.plainRoles(payload, id);
    const plan: ColumnPlan = {
      delimiter: this.rows.delimiter,
      skip: given.skip ?? this.rows.skip,
      time: time && { column: time.column, form: time.form },
      id,
      data: payload.data,
      bytes: payload.bytes,
      plain,
    };
    return {
      plan,
      words: this.words,
      facts: this.facts,
      headingSaid: time?.headingSaid ?? null,
      warnings: this.warnings,
    };
  }

  private resolve(ref: ColumnRef): number {
    if (typeof ref === 'number') return ref;
    const wanted = plainHeading(ref);
    return this.facts.findIndex(({ heading }) => heading === ref || plainHeading(heading) === wanted);
  }

  /** Marks the columns that a person has fixed; returns what is wrong with them. */
  private takeGiven(): string | null {
    const { time, id, data, bytes, plain = {} } = this.given;
    const refs = [time?.column, id?.column, data?.column, bytes?.column, ...Object.values(plain)];
    for (const ref of refs) {
      if (ref === undefined || ref === null) continue;
      const column = this.resolve(ref);
      if (column < 0) return `no column is headed "${ref}"`;
      if (column >= this.facts.length) return `there is no column ${column + 1}: rows have ${this.facts.length}`;
      this.taken.add(column);
    }
    return null;
  }

  private free(): ColumnFacts[] {
    return this.facts.filter(({ column }) => !this.taken.has(column));
  }

  private best(score: (facts: ColumnFacts) => number): ColumnFacts | null {
    const scored = this.free().map((each) => ({ each, score: score(each) }));
    const top = scored.reduce<{ each: ColumnFacts | null; score: number }>((a, b) => (b.score > a.score ? b : a), {
      each: null,
      score: 0,
    });
    if (top.each) this.taken.add(top.each.column);
    return top.each;
  }

  private payload(): PayloadPlace | null {
    const { data, bytes } = this.given;
    const isFree = this.isFreeForPayload();
    const found = findPayload(this.facts, isFree);
    const place = found && this.overridden(found, data, bytes);
    if (!place) return null;
    if (place.data) this.taken.add(place.data.column);
    for (let i = 0; i < (place.bytes?.count ?? 0); i++) this.taken.add((place.bytes?.column ?? 0) + i);
    this.words.push(place.words);
    return place;
  }

  private isFreeForPayload(): (column: number) => boolean {
    const { data, bytes } = this.given;
    if (data) return (column) => column === this.resolve(data.column);
    if (bytes) {
      const first = this.resolve(bytes.column);
      return (column) => column >= first && (bytes.count === null || column < first + bytes.count);
    }
    const anchor = this.surelyTime();
    return (column) => !this.taken.has(column) && !anchor.has(column);
  }

  /** Stamps look like payloads when written without a point. */
  private surelyTime(): Set<number> {
    const named = this.facts.filter(({ meaning }) => meaning === 'time');
    const sure = this.facts.filter((each) => each.date > MOSTLY || each.timeOfDay > MOSTLY);
    const rising = this.facts.filter(
      (each) =>
        each.meaning === null && each.number > ALMOST_ALL && each.rising > 0.97 && each.distinct > each.rows / 3,
    );
    const found = [...sure, ...(named.length > 0 ? named : rising.slice(0, 1))];
    return new Set(found.map(({ column }) => column));
  }

  private overridden(found: PayloadPlace, data: PartialPlan['data'], bytes: PartialPlan['bytes']): PayloadPlace {
    if (data)
      return {
        ...found,
        bytes: null,
        data: { column: this.resolve(data.column), form: data.form ?? found.data?.form ?? 'hex' },
      };
    if (!bytes) return found;
    const column = this.resolve(bytes.column);
    const count = bytes.count ?? Math.min(64, this.facts.length - column);
    return { ...found, data: null, bytes: { column, count, form: bytes.form ?? found.bytes?.form ?? 'hex' } };
  }

  private time(): { column: number; form: TimeForm; headingSaid: TimeForm | null } | null {
    const { given } = this;
    if (given.time === null) return null;
    const fixed = given.time ? this.facts[this.resolve(given.time.column)] : undefined;
    const split = given.time === undefined ? findSplitStamp(this.free()) : null;
    if (split) return this.splitTime(split);
    const each = fixed ?? this.best(timeScore) ?? this.best(stepScore);
    if (!each) return this.withoutStamps(this.free().find(({ meaning, filled }) => meaning === 'time' && filled > 0));
    const dated = this.datedBeside();
    const guess = given.time?.form
      ? { form: given.time.form, words: `${given.time.form}, as told`, headingSaid: null }
      : timeFormOf(each, dated);
    if ('impossibleRate' in guess && !given.time) return this.withoutStamps(each);
    this.words.push(`time from column ${each.column + 1}: ${guess.words}`);
    return { column: each.column, form: guess.form, headingSaid: guess.headingSaid };
  }

  private splitTime({ seconds, fraction, role }: SplitStamp): { column: number; form: TimeForm; headingSaid: null } {
    this.taken.add(seconds.column).add(fraction.column);
    this.fraction[role] = fraction.column;
    const isNumber = seconds.whole === 1;
    const form = isNumber ? 'seconds' : timeFormOf(seconds, this.datedBeside()).form;
    this.words.push(
      `time from column ${seconds.column + 1} in whole seconds, with ${role} from column ${fraction.column + 1}`,
    );
    return { column: seconds.column, form, headingSaid: null };
  }

  /** A date in a column of its own, where nobody has named one. */
  private datedBeside(): ColumnFacts | undefined {
    if (this.given.plain?.date !== undefined) return undefined;
    return this.facts.find((other) => dateScore(other) > 0 && !this.taken.has(other.column));
  }

  private withoutStamps(unread: ColumnFacts | undefined): null {
    this.words.push('no column holds stamps: frames are numbered, nothing can be said about time');
    if (!unread) return null;
    const example = unread.cells.find((cell) => cell !== '') ?? '';
    this.warnings.push({
      code: 'stamps-not-understood',
      message: `Column ${unread.column + 1}${unread.heading ? `, headed "${unread.heading}",` : ''} could not be read as stamps ("${example}"): frames are numbered, nothing can be said about time.`,
      advice:
        'Export it as plain seconds, without marks between thousands, or as ISO dates (not as the days that a spreadsheet counts); or name another column as time.',
    });
    return null;
  }

  private id(): ColumnPlan['id'] | null {
    const { given } = this;
    const fixed = given.id ? this.facts[this.resolve(given.id.column)] : undefined;
    const each = fixed ?? this.best(idScore);
    if (!each) return null;
    const guess = guessIdForm(each.heading, each.cells);
    const form = given.id?.form ?? guess.form;
    this.words.push(
      `identifier from column ${each.column + 1} in ${form === 'decimal' ? 'decimal' : 'hex'} (${given.id?.form ? 'as told' : guess.words})`,
    );
    return { column: each.column, form };
  }

  private whyNoId(): string {
    const rounded = this.facts.find(({ cells }) => cells.filter(isRounded).length > cells.length / 3);
    if (!rounded) return 'no column holds identifiers';
    return `a spreadsheet has turned the identifiers in column ${rounded.column + 1} into rounded numbers; they cannot be recovered`;
  }

  private plainRoles(payload: PayloadPlace, id: ColumnPlan['id']): Partial<Record<PlainRole, number>> {
    const scores: Readonly<Record<PlainRole, (each: ColumnFacts) => number>> = {
      milliseconds: () => 0,
      microseconds: () => 0,
      nanoseconds: () => 0,
      length: (each) => lengthScore(each, payload),
      date: dateScore,
      direction: directionScore,
      sent: (each) => sentFlagScore(each, /^(is )?(tx|sent|transmit(ted)?|outgoing)( flag)?$/),
      received: (each) => sentFlagScore(each, /^(is )?(rx|received|incoming)( flag)?$/),
      extended: extendedScore,
      kind: kindScore,
      remote: (each) => flagScore(each, 'remote'),
      fd: (each) => flagScore(each, 'fd'),
      brs: (each) => flagScore(each, 'brs'),
      esi: (each) => flagScore(each, 'esi'),
      bus: (each) => busScore(each, id.column),
    };
    const plain: Partial<Record<PlainRole, number>> = { ...this.fraction };
    for (const role of Object.keys(scores) as PlainRole[]) {
      const ref = this.given.plain?.[role];
      if (ref === null) continue;
      const column = ref === undefined ? this.best(scores[role])?.column : this.resolve(ref);
      if (column === undefined) continue;
      plain[role] = column;
      this.words.push(`${role} from column ${column + 1}`);
    }
    const known = [plain.direction, plain.sent, plain.received, this.given.plain?.direction];
    return known.some((each) => each !== undefined) ? plain : { ...plain, ...this.numberedDirection(id) };
  }

  /** A direction written as 0 and 1: told by requests of a diagnostic tester, which only the logger can have sent. */
  private numberedDirection(id: ColumnPlan['id']): Partial<Record<PlainRole, number>> {
    const found = this.free().find(
      ({ meaning, cells, distinct }) =>
        meaning === 'direction' && distinct === 2 && cells.every((cell) => /^[01]?$/.test(cell)),
    );
    if (!found) return {};
    const ids = this.facts[id.column]?.cells ?? [];
    const isRequest = ids.map((cell) => isTesterRequest(parseId(cell, id.form)));
    const ofRequests = new Set(found.cells.filter((_cell, row) => isRequest[row]));
    const [sent] = ofRequests;
    const others = found.cells.filter((cell, row) => !isRequest[row] && cell !== sent).length;
    const isTold = ofRequests.size === 1 && others > isRequest.filter((each) => !each).length / 2;
    if (isTold) {
      this.taken.add(found.column);
      this.words.push(
        `direction from column ${found.column + 1}: ${sent} means sent, because all requests of a diagnostic tester have it and most others do not`,
      );
      return sent === '1' ? { sent: found.column } : { received: found.column };
    }
    const words = `column ${found.column + 1} gives directions as 0 and 1, and nothing tells which of them is sent: all frames are kept as received`;
    this.words.push(words);
    this.warnings.push({
      code: 'direction-not-understood',
      message: `${words[0]?.toUpperCase()}${words.slice(1)}.`,
      advice: `If 1 means sent, give the columns with sent=${found.column + 1}; if 0 does, with received=${found.column + 1}.`,
    });
    return {};
  }
}

/** Requests to all modules and to one: ISO 15765-4, 11-bit and 29-bit identifiers. */
function isTesterRequest(parsed: ParsedId | string): boolean {
  if (typeof parsed === 'string') return false;
  const { id } = parsed;
  return id === 0x7df || (id >= 0x7e0 && id <= 0x7e7) || id === 0x18db33f1 || (id & 0x1fff00ff) === 0x18da00f1;
}

/** "2.00E+06": what a spreadsheet makes of an identifier such as 2E6. */
const isRounded = (cell: string): boolean => /^\d+[.,]\d+E[+-]?\d+$/i.test(cell) || /^\d+E[+-]\d+$/i.test(cell);
