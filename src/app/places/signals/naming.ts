/**
 * Names and edits of signals, as plain functions: what may be a name, what a field becomes when it gets one, and how
 * the evidence at hand sets its standing. Upright or italic follows from the standing.
 */
import { sameValueWords } from '../../../fields/same-value/words.ts';
import type { Link } from '../../../actions/types.ts';
import type { Evidence, MapSignal, Standing } from '../../../map/schema.ts';
import { placementKey } from '../../pictures/bands-words.ts';
import { capital } from '../../words/sentence.ts';

/** "Motor speed " becomes "motor_speed": letters, digits and underscores, so that every consumer can use it as it is. */
export function tidyName(typed: string): string {
  return typed
    .trim()
    .normalize('NFKD')
    .replace(/[\u0300-\u036f]/g, '')
    .replace(/[^A-Za-z0-9]+/g, '_')
    .replace(/^_+|_+$/g, '')
    .replace(/^(?=\d)/, 'n');
}

export interface NameProblem {
  readonly message: string;
}

/** null when the name may be used in its frame. */
export function nameProblem(typed: string, taken: readonly string[]): NameProblem | null {
  const name = tidyName(typed);
  if (!name) return { message: 'Type a name: letters, digits and underscores.' };
  if (taken.includes(name)) return { message: `This identifier already has a signal called ${name}.` };
  return null;
}

/** A number as typed: decimal comma or point, true minus; null where it is none. */
export function numberTyped(text: string): number | null {
  const plain = text.trim().replace(/−/g, '-').replace(',', '.');
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain)) return null;
  const value = Number(plain);
  return Number.isFinite(value) ? value : null;
}

/** The signal with another scale and offset; what is physical (observed, allowed) goes along. */
export function rescaled(signal: MapSignal, scale: number, offset: number): MapSignal {
  const moved = (range: MapSignal['observed']): MapSignal['observed'] => {
    if (!range || signal.scale === 0) return range;
    const ends = [range.min, range.max].map((end) => ((end - signal.offset) / signal.scale) * scale + offset);
    return { ...range, min: Math.min(...ends), max: Math.max(...ends) };
  };
  return { ...signal, scale, offset, observed: moved(signal.observed), allowed: moved(signal.allowed) };
}

const SUPPORTING: readonly Evidence['kind'][] = ['link', 'fit', 'states', 'cross-check'];

/** guess: it could be chance; supported: two kinds of evidence agree; proven: it held on a capture it never saw. */
export function standingFrom(evidence: readonly Evidence[]): Standing {
  if (evidence.some(({ kind }) => kind === 'proof' || kind === 'bench')) return 'proven';
  const kinds = new Set(evidence.map(({ kind }) => kind).filter((kind) => SUPPORTING.includes(kind)));
  return kinds.size >= 2 ? 'supported' : 'guess';
}

/** The same signal with one piece of evidence put in, in place of an older one of the same kind and subject. */
export function withEvidence(signal: MapSignal, evidence: Evidence): MapSignal {
  const kept = signal.evidence.filter((old) => !sameSubject(old, evidence));
  const all = [...kept, evidence];
  return { ...signal, evidence: all, standing: standingFrom(all) };
}

const sameSubject = (a: Evidence, b: Evidence): boolean =>
  a.kind === b.kind && a.capture === b.capture && a['action'] === b['action'] && a['quantity'] === b['quantity'];

/** Links of the report that speak of this very field, as evidence. */
export function linkEvidence(
  signal: MapSignal,
  frame: { readonly bus: string; readonly id: string; readonly extended: boolean },
  actions: readonly { readonly action: string; readonly links: readonly Link[] }[],
  capture: string,
  limit = 0.05,
): Evidence[] {
  const key = placementKey(signal, signal.when);
  return actions.flatMap(({ action, links }) => {
    const link = links.find(
      (candidate) =>
        candidate.q <= limit &&
        candidate.bus === frame.bus &&
        candidate.id === frame.id &&
        candidate.extended === frame.extended &&
        placementKey(candidate, candidate.when) === key,
    );
    if (!link) return [];
    const { effect, effectSd, lagS, q, direction, n } = link;
    return [
      { kind: 'link', capture, action, effect, effectSd, lagS, q, direction, n },
    ] as const satisfies readonly Evidence[];
  });
}

/** The signal as the marks support it now: its links are those of the latest report, what else was noted stays. */
export function withLiveLinks(
  signal: MapSignal,
  frame: { readonly bus: string; readonly id: string; readonly extended: boolean },
  actions: readonly { readonly action: string; readonly links: readonly Link[] }[],
  capture: string,
): MapSignal {
  const kept = signal.evidence.filter(
    ({ kind, capture: of }) => kind !== 'link' || (of !== undefined && of !== capture),
  );
  const evidence = [...kept, ...linkEvidence(signal, frame, actions, capture)];
  // What two maps tell differently stays a guess until a person decides.
  return { ...signal, evidence, standing: 'disputed' in signal ? 'guess' : standingFrom(evidence) };
}

/** Evidence in words: what it is, and its figure. */
export function evidenceWords(evidence: Evidence): { readonly what: string; readonly figure: string } {
  const figure = (key: string): number | null => (typeof evidence[key] === 'number' ? (evidence[key] as number) : null);
  const text = (key: string): string => (typeof evidence[key] === 'string' ? (evidence[key] as string) : '');
  switch (evidence.kind) {
    case 'link':
      return { what: `Answers “${text('action')}”`, figure: qWords(figure('q')) };
    case 'fit':
      return {
        what: `Fit to ${text('quantity') || 'a reference'}`,
        figure: `r² ${(figure('r2') ?? Number.NaN).toFixed(3)}`,
      };
    case 'states':
      return { what: 'States said by marks', figure: `${figure('marks') ?? 0} marks` };
    case 'cross-check':
      if (text('quantity') === 'same-value')
        return {
          what: capital(sameValueWords(evidence, '') ?? 'shows the same value as another field'),
          figure: qWords(figure('q')),
        };
      return { what: text('with') ? `Agrees with ${text('with')}` : 'Agrees with another field', figure: '' };
    case 'guard':
      return { what: 'Covered by a checksum that holds', figure: '' };
    case 'proof':
      return { what: text('title') ? `Held on “${text('title')}”` : 'Held on a capture it never saw', figure: '' };
    case 'bench':
      return { what: 'Tried on the bench', figure: '' };
    case 'by-hand':
      return { what: 'Named by hand', figure: '' };
  }
}

/** What another capture said beside the evidence: it failed there, or held but for its scale. */
export function heldAgainstWords(signal: MapSignal): string[] {
  const told = Array.isArray(signal['heldAgainst'])
    ? (signal['heldAgainst'] as Readonly<Record<string, unknown>>[])
    : [];
  return told.map(({ verdict, title }) => {
    const where = typeof title === 'string' ? `“${title}”` : 'another capture';
    return verdict === 'fails' ? `Fails on ${where}: see Proof` : `Held on ${where}; its scale was not tested there`;
  });
}

const qWords = (q: number | null): string => {
  if (q === null) return '';
  return q < 0.001 ? 'q <.001' : `q ${q.toFixed(3).replace(/^0/, '')}`;
};

/** Why it is not trusted further, and what would help. */
export function standingWords(signal: MapSignal): string {
  if (signal.standing === 'proven') return 'Held on a capture it never saw.';
  if (signal.standing === 'supported') return 'Two kinds of evidence agree; not yet held against another capture.';
  const kinds = new Set(signal.evidence.map(({ kind }) => kind));
  if (!kinds.has('fit') && !kinds.has('link'))
    return 'A name alone proves nothing: mark the action that moves it, or fit it to a reference.';
  if (!kinds.has('fit') && signal.kind === 'number')
    return 'It answers an action. A fit to a meter or a reference would support its unit.';
  return 'One kind of evidence. A mark of the action that moves it would be a second.';
}
