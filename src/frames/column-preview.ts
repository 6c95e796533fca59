/**
 * What the column chooser shows of a table: its headings, its first rows as cells, what each column is
 * taken for and why, and what reading it so would give over the first thousand lines. The same for
 * whatever columns a person proposes, so that a change is seen before the whole file is read.
 */
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { cellsOf } from './columns/cells.ts';
import { type ColumnFacts, factsOf } from './columns/facts.ts';
import type { Guess } from './columns/guess.ts';
import {
  type ColumnPlan,
  DELIMITERS,
  type Delimiter,
  formatPlan,
  parsePlan,
  type PartialPlan,
  PLAIN_ROLES,
  type Role,
} from './columns/plan.ts';
import { sampleRows } from './columns/rows.ts';
import { type Tried, tryDelimiter, tryPlan } from './columns/table-reader.ts';
import { runSteps } from './pictures/steps.ts';
import { isAside } from './reading/asides.ts';
import { openBytes } from './reading/bytes.ts';
import { joined } from './reading/joined.ts';
import type { Recorder } from './reading/recorder.ts';
import { refuseByHead } from './reading/refuse.ts';
import { HEAD_BYTES, takeSample } from './reading/sample.ts';
import { parseZone } from './reading/stamps.ts';
import type { ByteSource } from './source.ts';
import type { Reject, StreamKey } from './table.ts';

export interface PreviewOptions {
  /** Proposed columns, as `--columns` takes them; all is guessed where not given. */
  readonly columns?: string;
  readonly zone?: string;
}

interface ColumnGuess {
  /** 1-based, as in the columns text. */
  readonly column: number;
  readonly heading: string;
  /** Null where the column is not used. */
  readonly role: Role | null;
  /** Unit of a stamp, base of an identifier or payload; null where the role has no form. */
  readonly form: string | null;
  /** What the cells look like, for a person. */
  readonly reason: string;
}

export interface ColumnTrial {
  readonly lines: number;
  readonly accepted: number;
  readonly rejected: number;
  readonly passedOver: number;
  readonly rejects: readonly Reject[];
  readonly identifiers: readonly (StreamKey & { readonly count: number })[];
  /** Seconds from the first to the last stamp, as read. */
  readonly spanS: number;
}

export interface ColumnPreview {
  readonly delimiter: Delimiter;
  /** Lines before the first row. */
  readonly skip: number;
  readonly columns: readonly ColumnGuess[];
  /** The first rows, [rows][columns]. */
  readonly rows: readonly (readonly string[])[];
  /** The whole choice as text, to be passed on as columns; null where it is not complete. */
  readonly text: string | null;
  /** What is still missing, for a person; null where the choice is complete. */
  readonly missing: string | null;
  /** One sentence a decision. */
  readonly words: readonly string[];
  /** What reading it so would give; null where the choice is not complete. */
  readonly trial: ColumnTrial | null;
}

const ROWS_SHOWN = 20;

/** Fails for files that are no text, and for columns text that cannot be understood. */
export async function previewColumns(
  source: ByteSource,
  options: PreviewOptions = {},
): Promise<Outcome<ColumnPreview>> {
  const given =
    options.columns === undefined || options.columns.trim() === '' ? good<PartialPlan>({}) : parsePlan(options.columns);
  if (!given.ok) return given;
  const zoneS = parseZone(options.zone ?? 'UTC') ?? 0;
  const lines = await headLines(source);
  if (!Array.isArray(lines)) return bad(lines);
  const delimiters = given.value.delimiter ? [given.value.delimiter] : (Object.keys(DELIMITERS) as Delimiter[]);
  const sample = { name: source.name, head: new Uint8Array(0), lines, deepLines: [] };
  const tried = delimiters.map((delimiter) => ({
    delimiter,
    result: runSteps(tryDelimiter(sample, delimiter, given.value, zoneS)),
  }));
  const best = tried.reduce((a, b) => (scoreOf(b.result) > scoreOf(a.result) ? b : a));
  if (typeof best.result !== 'string') return good(complete(best.result.guess, lines, zoneS));
  return good(incomplete(lines, given.value, delimiters, best.result));
}

const scoreOf = (result: Tried | string): number => (typeof result === 'string' ? -1 : result.score);

async function headLines(source: ByteSource): Promise<string[] | Problem> {
  const opened = await openBytes(source, HEAD_BYTES);
  const held: Uint8Array[] = [];
  let bytes = 0;
  let isWhole = false;
  while (bytes < HEAD_BYTES && !isWhole) {
    const { done, value } = await opened.pieces.next();
    if (done) isWhole = true;
    else {
      held.push(value);
      bytes += value.length;
    }
  }
  await opened.pieces.return(undefined);
  const head = joined(held);
  const refusal = refuseByHead(head, source.name);
  if (refusal) return refusal;
  const { sample } = await takeSample(source, head, isWhole, true);
  return [...sample.lines];
}

function complete(guess: Guess, lines: readonly string[], zoneS: number): ColumnPreview {
  const { plan } = guess;
  return {
    delimiter: plan.delimiter,
    skip: plan.skip,
    columns: guess.facts.map((facts) => ({
      ...guessOf(facts, plan),
      column: facts.column + 1,
      heading: facts.heading,
    })),
    rows: shownRows(lines, plan.delimiter, plan.skip),
    text: formatPlan(plan),
    missing: null,
    words: guess.words,
    trial: trialOf(runSteps(tryPlan(plan, lines, zoneS))),
  };
}

/** Cells under the delimiter that makes the most of the lines, without roles. */
function incomplete(
  lines: readonly string[],
  given: PartialPlan,
  delimiters: readonly Delimiter[],
  missing: string,
): ColumnPreview {
  const split = delimiters
    .map((delimiter) => sampleRows(lines, [], delimiter, given.skip ?? null))
    .filter((rows) => rows !== null);
  const [best] = split.sort((a, b) => b.columns * b.rows.length - a.columns * a.rows.length);
  const delimiter = best?.delimiter ?? 'comma';
  const skip = given.skip ?? best?.skip ?? 0;
  const facts =
    best?.headings.map((heading, column) =>
      runSteps(
        factsOf(
          column,
          heading,
          best.rows.map((row) => row[column] as string),
        ),
      ),
    ) ?? [];
  return {
    delimiter,
    skip,
    columns: facts.map((each) => ({
      column: each.column + 1,
      heading: each.heading,
      role: null,
      form: null,
      reason: lookOf(each),
    })),
    rows: shownRows(lines, delimiter, skip),
    text: null,
    missing: missing === '' ? 'rows do not fall into columns' : missing,
    words: [],
    trial: null,
  };
}

function shownRows(lines: readonly string[], delimiter: Delimiter, skip: number): string[][] {
  const body = lines.slice(skip).filter((line) => !isAside(line));
  return body.slice(0, ROWS_SHOWN).map((line) => cellsOf(line, delimiter));
}

function guessOf(facts: ColumnFacts, plan: ColumnPlan): Pick<ColumnGuess, 'role' | 'form' | 'reason'> {
  const { column } = facts;
  const reason = lookOf(facts);
  const { time, id, data, bytes, plain } = plan;
  if (time?.column === column) return { role: 'time', form: time.form, reason };
  if (id.column === column) return { role: 'id', form: id.form, reason };
  if (data?.column === column) return { role: 'data', form: data.form, reason };
  if (bytes && column >= bytes.column && column < bytes.column + bytes.count)
    return { role: 'bytes', form: bytes.form, reason };
  return { role: PLAIN_ROLES.find((role) => plain[role] === column) ?? null, form: null, reason };
}

/** What the cells of a column look like, in words. */
function lookOf(facts: ColumnFacts): string {
  const { filled, distinct, rows } = facts;
  const variety =
    distinct === 1
      ? `always "${facts.cells.find((cell) => cell !== '') ?? ''}"`
      : `${distinct} different values in ${rows} rows`;
  const empty = filled < 1 ? `, ${Math.round((1 - filled) * 100)} % empty` : '';
  return `${kindOf(facts)}, ${variety}${empty}`;
}

function kindOf(facts: ColumnFacts): string {
  if (facts.filled === 0) return 'empty';
  if (facts.date > 0.9) return 'dates';
  if (facts.timeOfDay > 0.9) return 'times of day';
  if (facts.payloadBinary > 0.9) return 'binary digits';
  if (facts.number > 0.9)
    return facts.counting > 0.95
      ? 'numbers that count up by one'
      : facts.rising > 0.95 && distinctEnough(facts)
        ? 'numbers that rise'
        : 'numbers';
  if (facts.payloadHex > 0.9 && facts.payloadBytes > 1.5) return 'hex bytes';
  if (facts.id > 0.9) return 'hex numbers';
  if (facts.directionWords > 0.9) return 'direction words';
  if (facts.flagWords > 0.9) return 'flags';
  return 'text';
}

const distinctEnough = (facts: ColumnFacts): boolean => facts.distinct > facts.rows / 4;

function trialOf(recorder: Recorder): ColumnTrial {
  const { ledger, builder } = recorder;
  const instants = builder.streams.flatMap(({ slot }) => [...slot.span(0, Infinity)]);
  return {
    lines: ledger.lines,
    accepted: ledger.accepted,
    rejected: ledger.rejected,
    passedOver: ledger.passedOver,
    rejects: ledger.rejects,
    identifiers: builder.streams.map(({ key, slot }) => ({ ...key, count: slot.count })),
    spanS: instants.length === 0 ? 0 : (Math.max(...instants) - Math.min(...instants)) / 1e6,
  };
}
