/** The comparison as rows under headings, each an identifier with what became of it: what the picture and its words are made from. Pure. */
import type { ComparisonProfile, IdentifierProfile } from '../../proof/compare/profile-types.ts';
import type { ChangedPayload, ComparedFrame, Comparison, Judged, Reaction } from '../../proof/compare/types.ts';
import { duration, fixed, period, plural } from '../../kit/sheet-figures.ts';
import { changeWords, saidOf, shownId } from './fates.ts';
import type { ThreadFate } from './glyphs.tsx';

export interface ComparedRow {
  readonly key: string;
  readonly frame: ComparedFrame;
  readonly shownId: string;
  readonly group: string | null;
  /** Null where the capture does not have it. */
  readonly a: IdentifierProfile | null;
  readonly b: IdentifierProfile | null;
  /** What is measured, upright. */
  readonly words: string;
  /** Why it is put so, for the panel; empty where nothing is inferred. */
  readonly why: string;
  readonly confidence: number | null;
}

export interface RowSection {
  readonly fate: ThreadFate;
  readonly title: string;
  /** What the heading does not say. */
  readonly note: string;
  readonly rows: readonly ComparedRow[];
}

const keyOf = ({ bus, id, extended }: ComparedFrame): string => `${bus}/${id}/${extended}`;

class Lookup {
  private readonly inA: ReadonlyMap<string, IdentifierProfile>;
  private readonly inB: ReadonlyMap<string, IdentifierProfile>;
  constructor(
    private readonly comparison: Comparison,
    a: ComparisonProfile,
    b: ComparisonProfile,
  ) {
    this.inA = new Map(a.identifiers.map((identifier) => [keyOf(identifier), identifier]));
    this.inB = new Map(b.identifiers.map((identifier) => [keyOf(identifier), identifier]));
  }
  row(frame: ComparedFrame, words: string, judged?: Pick<Judged, 'why' | 'confidence'>): ComparedRow {
    const a = this.inA.get(keyOf(frame)) ?? null;
    const partner = a ? this.comparison.buses[frame.bus] : frame.bus;
    const b = partner ? (this.inB.get(keyOf({ ...frame, bus: partner })) ?? null) : null;
    return {
      key: keyOf(frame),
      frame,
      shownId: shownId(frame),
      group: a?.group ?? null,
      a,
      b,
      words,
      why: judged?.why ?? '',
      confidence: judged?.confidence ?? null,
    };
  }
  paceOf(frame: ComparedFrame): string {
    const known = this.inA.get(keyOf(frame)) ?? this.inB.get(keyOf(frame));
    if (!known) return '';
    return known.timing.periodMs === null ? plural(known.count, 'frame') : `every ${period(known.timing.periodMs)}`;
  }
}

const bytesWords = (bytes: readonly number[]): string => `${bytes.length === 1 ? 'byte' : 'bytes'} ${bytes.join(', ')}`;

function reactionWords(reaction: Reaction): string {
  const said = saidOf(reaction.how, 1);
  const change = changeWords([reaction]);
  if (change) return `${said}, ${change}`;
  return reaction.bytes.length > 0 ? `${said} in ${bytesWords(reaction.bytes)}` : said;
}

function payloadWords({ bytes, how, steady, due }: ChangedPayload): string {
  const moves = due === null ? '' : `, ${plural(Math.round(due), 'move')} due`;
  return `${bytesWords(bytes)}: ${how}${moves}${steady ? '' : '; moves in bursts, as driving makes it'}`;
}

/** Changed payloads and periods that nobody is blamed for. */
function otherRows(comparison: Comparison, lookup: Lookup, spoken: ReadonlySet<string>): ComparedRow[] {
  const byFrame = new Map<string, { frame: ComparedFrame; words: string[] }>();
  const add = (frame: ComparedFrame, words: string): void => {
    const known = byFrame.get(keyOf(frame)) ?? { frame, words: [] };
    known.words.push(words);
    if (!spoken.has(keyOf(frame))) byFrame.set(keyOf(frame), known);
  };
  for (const frame of comparison.timingChanged)
    add(frame, `${period(frame.periodMsA)} → ${period(frame.periodMsB)}, as in some of the first`);
  for (const frame of comparison.payloadChanged) add(frame, payloadWords(frame));
  return [...byFrame.values()].map(({ frame, words }) => lookup.row(frame, words.join('; ')));
}

/** Sections in the order of what matters: who is missing first. Sections without rows are left out. */
export function sectionsOf(comparison: Comparison, a: ComparisonProfile, b: ComparisonProfile): RowSection[] {
  const lookup = new Lookup(comparison, a, b);
  const { sentBy, copies, reacts, undecided } = comparison.absent;
  const spoken = new Set([...sentBy, ...copies, ...reacts, ...undecided].map(keyOf));
  const begun = comparison.onlyInB.filter((frame) => !spoken.has(keyOf(frame)));
  const judged = (fate: ThreadFate, title: string, note: string, rows: readonly ComparedRow[]): RowSection => ({
    fate,
    title,
    note,
    rows,
  });
  const sections = [
    judged(
      'silent',
      'Fall silent',
      'sent by the missing module',
      sentBy.map((each) => lookup.row(each, `none in ${duration(b.durationS)}, ${lookup.paceOf(each)} before`, each)),
    ),
    judged(
      'copy',
      'Copies that stop with them',
      'sent by a gateway',
      copies.map((each) => lookup.row(each, `copy of ${shownId(each.copyOf)} on ${each.copyOf.bus}`, each)),
    ),
    judged(
      'reacts',
      'React',
      'sent by others',
      reacts.map((each) => lookup.row(each, reactionWords(each), each)),
    ),
    judged(
      'undecided',
      'Missing, reason open',
      'another drive or mode may be why',
      undecided.map((each) =>
        lookup.row(each, `none in ${duration(b.durationS)}, ${lookup.paceOf(each)} before`, each),
      ),
    ),
    judged(
      'starts',
      'Only in the second',
      '',
      begun.map((each) => lookup.row(each, lookup.paceOf(each))),
    ),
    judged('undecided', 'Otherwise different', 'put down to nobody', otherRows(comparison, lookup, spoken)),
  ];
  return sections.filter(({ rows }) => rows.length > 0);
}

/** Identifiers of both captures of which no row speaks. */
export function alikeIn(
  sections: readonly RowSection[],
  a: ComparisonProfile,
  comparison: Comparison,
): ComparedFrame[] {
  const spoken = new Set(sections.flatMap(({ rows }) => rows.map(({ key }) => key)));
  const lone = new Set(comparison.onlyInA.map(keyOf));
  return a.identifiers.filter((identifier) => !spoken.has(keyOf(identifier)) && !lone.has(keyOf(identifier)));
}

/** "there from 0:03 to 1:20, 4,012 frames" for the picture's words. */
export function presenceWords(identifier: IdentifierProfile | null, startS: number): string {
  if (!identifier) return 'not there';
  return `${plural(identifier.count, 'frame')}, ${fixed(identifier.firstS - startS, 1)} to ${fixed(identifier.lastS - startS, 1)} s`;
}
