/** The whole job in one go: survey, fields, links, fits, and from them a signal map. */
import { CLAIM_Q } from '../../actions/claims.ts';
import type { ActionLinks, MarkFile } from '../../actions/types.ts';
import { draftMap } from '../../draft/draft.ts';
import type { HandWork } from '../../draft/types.ts';
import type { SameValueReport } from '../../fields/same-value/types.ts';
import type { CannotBeProduced } from '../../handover/needs/cannot-be-produced.ts';
import { toldEarly } from '../../handover/needs/told-early.ts';
import { part } from '../../kit/control.ts';
import { printMap } from '../../map/print.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { DonorCan, Sufficiency } from '../../proof/suffices/types.ts';
import type { ReferenceFile } from '../../reference/types.ts';
import { checkRateNames, ratesFor, type GivenRates } from '../capture-arguments.ts';
import { analyse, analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { sufficesOf } from './suffices.ts';
import { warnMarksOutside, warnReadingsOutside } from './outside.ts';

export interface DraftRequest extends CaptureRequest {
  readonly rates: GivenRates;
  readonly marks: MarkFile | null;
  readonly marksOffset: 'auto' | number;
  readonly reference: ReferenceFile | null;
  readonly referenceOffset: 'auto' | number;
  readonly hand: HandWork;
  /** What the donor can still do. */
  readonly donor: DonorCan;
  readonly title: string;
  readonly part: Partial<SignalMap['part']>;
  readonly now: string;
  readonly by: string;
  readonly seed: number;
}

export interface DraftAnswer {
  /** The map as its file reads. */
  readonly text: string;
  readonly frames: number;
  readonly signals: number;
  readonly guards: number;
  readonly words: readonly string[];
  readonly suffices: Sufficiency;
  /** Keyed tags, pairing. */
  readonly cannotBeProduced: readonly CannotBeProduced[];
}

function actionWords({ action, links, words }: ActionLinks): string {
  const sure = links.filter(({ q }) => q <= CLAIM_Q).length;
  const found = sure > 0 ? `${sure} ${sure === 1 ? 'link' : 'links'} with q at most ${CLAIM_Q}` : '';
  return `${action}: ${[found, words].filter(Boolean).join('; ') || 'no link is sure'}`;
}

/** How many fields show what another shows: the figures stand with each. */
function sameWords({ groups }: SameValueReport): string[] {
  const copies = sum(groups.map(({ members }) => members.length));
  if (copies === 0) return [];
  const [fields, values] = [
    copies === 1 ? '1 field shows' : `${copies} fields show`,
    groups.length === 1 ? '1 value' : `${groups.length} values`,
  ];
  return [`same values: ${fields} what another shows, ${values} in all`];
}

/** How many actions the map tells step by step; the report and the map have the steps. */
function sequenceWords({ sequences }: SignalMap): string[] {
  const repeated = sequences.filter(({ steps }) => steps.some(({ q }) => q !== undefined));
  const [longest] = [...sequences].sort((a, b) => b.steps.length - a.steps.length);
  if (!longest) return [];
  const seldom = sequences.length - repeated.length;
  const often = seldom > 0 ? `; ${seldom} of them done once or twice only, which may be chance` : '';
  const turns = sum(sequences.map(({ presence = [] }) => presence.length));
  const senders =
    turns > 0 ? `; a sender begins or falls silent in them ${turns === 1 ? 'once' : `${turns} times`}` : '';
  return [
    `sequences: ${sequences.length} told step by step, the longest after "${longest.name}" (${longest.steps.length} steps)${senders}${often}`,
  ];
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

export async function draftTask(request: DraftRequest, context: TaskContext): Promise<DraftAnswer> {
  const { files: _files, read: _read, growing: _growing, rates: given, hand, donor, ...rest } = request;
  const table = await openCapture(request, context, part(context.control, 0, 0.15));
  checkRateNames(table.buses, given);
  const draft = await draftMap(
    {
      ...rest,
      ...hand,
      table,
      rates: ratesFor(table.buses, given),
      findFields: (control) => analyseFields(table, context, control, hand.decisions),
      findSame: (findings, question, control) =>
        analyse('same', table, { job: 'same', findings, ...question }, context, control),
      findLinks: (findings, question, control) =>
        analyse('link', table, { job: 'link', findings, ...question }, context, control),
      findFits: (findings, question, control) =>
        analyse('fit', table, { job: 'fit', findings, ...question }, context, control),
    },
    part(context.control, 0.15, 1),
  );
  const { marks, reference } = request;
  if (marks && draft.links) warnMarksOutside(table, marks, draft.links.clockOffsetS, context);
  if (reference && draft.fits) warnReadingsOutside(table, reference, draft.fits.clockOffsetS, context);
  const { frames } = draft.map;
  return {
    text: printMap(draft.map),
    frames: frames.length,
    signals: sum(frames.map((frame) => frame.signals.length)),
    guards: sum(frames.map((frame) => frame.counters.length + frame.checksums.length)),
    suffices: sufficesOf(table, draft, marks, donor),
    cannotBeProduced: toldEarly(table, draft.survey, frames),
    words: [
      ...sameWords(draft.same),
      ...(draft.links ? [`marks' clock: ${draft.links.clock.words}`] : []),
      ...(draft.links?.actions ?? []).map(actionWords),
      ...sequenceWords(draft.map),
      ...(draft.fits?.quantities ?? []).map(
        (quantity) => `${quantity.name}: ${quantity.words || `${quantity.fits.length} fits`}`,
      ),
    ],
  };
}
