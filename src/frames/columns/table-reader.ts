/** Reads tables by a plan: the part that delimited and blank-separated tables have in common. */
import { FrameBuilder } from '../builder.ts';
import type { Problem } from '../../kit/outcome.ts';
import type { Steps } from '../pictures/steps.ts';
import { isAside } from '../reading/asides.ts';
import { LineCutter, textOf } from '../reading/lines.ts';
import type { Consumer, JudgeOptions, Judgement, Sample } from '../reading/reader.ts';
import { Recorder } from '../reading/recorder.ts';
import { type Guess, guessPlan } from './guess.ts';
import { type ColumnPlan, type Delimiter, formatPlan, type PartialPlan } from './plan.ts';
import { QuotedLines } from './quoted-lines.ts';
import { RowReader } from './row-reader.ts';
import { type SampleRows, sampleRows } from './rows.ts';

class TableConsumer implements Consumer {
  private readonly cutter = new LineCutter(
    (bytes, from, to) => this.line(bytes, from, to),
    (bytes, from, end) => this.takeLine(bytes, from, end),
  );
  private readonly rows: RowReader;
  private readonly quotes: QuotedLines;
  /** The line above the first row: files that were put together carry it again further down. */
  private heading = '';

  constructor(
    private readonly plan: ColumnPlan,
    private readonly recorder: Recorder,
    zoneS: number,
  ) {
    this.rows = new RowReader(plan, recorder, zoneS);
    this.quotes = new QuotedLines(plan, {
      single: (bytes, from, to) => this.single(bytes, from, to),
      joined: (bytes, lines) => {
        this.single(bytes, 0, bytes.length);
        recorder.ledger.passedOver += lines - 1;
      },
    });
  }

  push(bytes: Uint8Array): void {
    this.cutter.push(bytes);
  }

  finish(): void {
    this.cutter.finish();
    this.quotes.finish();
    const { longerThanSaid } = this.rows;
    if (longerThanSaid === 0) return;
    this.recorder.warnings.push({
      code: 'more-bytes-than-length',
      message: `${longerThanSaid} rows hold more payload bytes than their length says; the length was followed.`,
      advice: 'If the length column is something else, set it to none in the columns.',
    });
  }

  private line(bytes: Uint8Array, from: number, to: number): void {
    const { ledger } = this.recorder;
    if (ledger.lines < this.plan.skip || (from === to && !this.quotes.isWaiting)) {
      if (ledger.lines + 1 === this.plan.skip) this.heading = textOf(bytes, from, to);
      ledger.passedOver++;
      return;
    }
    this.quotes.line(bytes, from, to);
  }

  private single(bytes: Uint8Array, from: number, to: number): void {
    this.rows.cut(bytes, from, to);
    this.row(bytes, from, to);
  }

  /** A line without quoting, cut while its end is looked for. */
  private takeLine(bytes: Uint8Array, from: number, end: number): number {
    if (this.recorder.ledger.lines < this.plan.skip || this.quotes.isWaiting) return -1;
    const to = this.rows.cutLine(bytes, from, end);
    if (to === from) this.recorder.ledger.passedOver++;
    else if (to > from) this.row(bytes, from, to);
    return to;
  }

  /** Takes the row just cut, or says why not. */
  private row(bytes: Uint8Array, from: number, to: number): void {
    const reason = this.rows.take();
    if (reason === null) return;
    const { ledger } = this.recorder;
    const text = textOf(bytes, from, to);
    const isHeading = text === this.heading || (ledger.accepted === 0 && !/\d/.test(text));
    if (isAside(text) || isHeading) ledger.passedOver++;
    else ledger.reject(text, reason);
  }
}

const LINES_TRIED = 1000;
const LINES_A_STEP = 100;
const NO_COLUMNS = 'rows do not fall into columns';

/** What reading so would give over the first lines of the sample. */
export function* tryPlan(plan: ColumnPlan, lines: readonly string[], zoneS: number): Steps<Recorder> {
  const recorder = new Recorder(new FrameBuilder(), { seconds: null }, 'bus1');
  const consumer = new TableConsumer(plan, recorder, zoneS);
  const tried = lines.slice(0, LINES_TRIED).map((line) => line + '\n');
  for (let from = 0; from < tried.length; from += LINES_A_STEP) {
    consumer.push(new TextEncoder().encode(tried.slice(from, from + LINES_A_STEP).join('')));
    yield;
  }
  consumer.finish();
  return recorder;
}

export interface Tried {
  readonly guess: Guess;
  readonly score: number;
  readonly accepted: number;
  readonly claims: number;
}

/** Judges a sample under each of the delimiters. */
export function* judgeTable(sample: Sample, options: JudgeOptions, delimiters: readonly Delimiter[]): Steps<Judgement> {
  const given = options.columns ?? {};
  const allowed = given.delimiter ? delimiters.filter((each) => each === given.delimiter) : delimiters;
  let missed = NO_COLUMNS;
  let best: Tried | null = null;
  for (const delimiter of allowed) {
    const tried = yield* tryDelimiter(sample, delimiter, given, options.zoneS);
    if (typeof tried === 'string') missed = tried === '' ? missed : tried;
    else if (!best || tried.score > best.score) best = tried;
  }
  if (best) return judgementOf(best, options.zoneS, sample);
  return { score: 0, nearness: missed === NO_COLUMNS ? 0.1 : 0.5, words: missed };
}

export function* tryDelimiter(
  sample: Sample,
  delimiter: Delimiter,
  given: PartialPlan,
  zoneS: number,
): Steps<Tried | string> {
  const rows = sampleRows(sample.lines, sample.deepLines, delimiter, given.skip ?? null);
  if (!rows) return '';
  yield;
  const guess = yield* guessPlan(rows, given);
  if (typeof guess === 'string') return guess;
  const { ledger } = yield* tryPlan(guess.plan, sample.lines, zoneS);
  const claims = ledger.accepted + ledger.rejected + framesSkipped(sample.lines.slice(0, guess.plan.skip));
  if (ledger.accepted === 0) return ledger.rejects[0]?.reason ?? 'no row holds a frame';
  if (delimiter === 'spaces' && !given.id && hidesCells(rows, guess.plan)) return MARKS_BETWEEN;
  const stamped = guess.plan.time ? 1 : 0.7;
  return { guess, score: (ledger.accepted / claims) * stamped * 0.98, accepted: ledger.accepted, claims };
}

/** Log lines and screen lines before a heading: to pass them over would lose frames. */
const framesSkipped = (lines: readonly string[]): number => lines.filter((line) => FRAME_LINE.test(line)).length;
const FRAME_LINE = /(^|\s)[0-9a-f]{3,8}(#[0-9a-f#.r]|\s+\[\d+\])/i;

const MARKS_BETWEEN =
  'other separators than blanks stand within what blanks separate; if they belong to the text, name the columns';

/** Rows of another table, cut at the blanks that happen to be in it: cells before the payload hold several separators. */
function hidesCells({ rows }: SampleRows, { data, bytes }: ColumnPlan): boolean {
  const payload = data?.column ?? bytes?.column ?? 0;
  const marked = rows.filter((row) => row.some((cell, at) => at !== payload && /[,;|].*[,;|]/.test(cell)));
  return marked.length > rows.length / 2;
}

function judgementOf({ guess, score, accepted, claims }: Tried, zoneS: number, sample: Sample): Judgement {
  const { plan, words, headingSaid } = guess;
  const unit: Problem[] = headingSaid
    ? [
        {
          code: 'unit-differs-from-header',
          message: `The heading says ${headingSaid}, the stamps are ${plan.time?.form}.`,
          advice: 'If that is wrong, name the unit in the columns.',
          place: { file: sample.name, line: plan.skip },
        },
      ]
    : [];
  return {
    score,
    words: `${accepted} of ${claims} sampled rows are frames; columns separated by ${plan.delimiter}; ${words.join('; ')}`,
    columns: formatPlan(plan),
    warnings: [...unit, ...guess.warnings.map((warning) => ({ ...warning, place: { file: sample.name } }))],
    open: (recorder) => new TableConsumer(plan, recorder, zoneS),
  };
}
