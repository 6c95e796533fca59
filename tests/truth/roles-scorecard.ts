/**
 * Roles on vehicles of both simulators, with fields as they truly are and as they are found: of commands and what follows them, how many fields
 * are called so; and of those called commands, how many are. A field that stayed as it was shows no role and is left out. Limits, enables and faults
 * count as missed only where the recording shows what they are for often enough.
 */
import { linkFields } from '../../src/actions/link.ts';
import type { MarkFile } from '../../src/actions/types.ts';
import { findMeaning } from '../../src/draft/meaning.ts';
import type { FieldPlace, RoleFinding } from '../../src/draft/roles/types.ts';
import { quantityOf, type QuantityName } from '../../src/demo/quantities.ts';
import type { ProfileName } from '../../src/demo/profiles.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import type { ProposedFrame } from '../../src/map/proposed-fields.ts';
import type { SignalRole } from '../../src/map/schema.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import { makeEvidenceVehicle } from './evidence/make-evidence.ts';
import { trueFieldOf } from './evidence/truth-of.ts';
import { trueFindings } from './support/evidence-case.ts';
import { isMeant } from './naming-truth.ts';
import { observeSignals } from './support/observed.ts';
import { operatorMarks, makeSample } from './support/vehicles.ts';

export interface RolesCase {
  readonly name: string;
  readonly table: FrameTable;
  readonly marks: MarkFile;
  readonly placed: readonly ProposedFrame[];
  /** What is true of a field as found; null for none, or for one that no rule can tell by this capture. */
  readonly truthOf: (found: FieldPlace) => TrueRole | null;
  /** Commands with a follower that moved too, by name. */
  readonly pairs: readonly { readonly command: string; readonly feedback: string }[];
  /** How often the recording shows what a signal is for; null where that is not known. */
  readonly shown: Readonly<Record<string, number>> | null;
}

export const PARTS = ['limit', 'enable', 'fault', 'echo'] as const;
export type Part = (typeof PARTS)[number];
/** Times that it must be shown before it counts as missed. */
const SHOWN_LEAST: Readonly<Record<Part, number>> = { limit: 3, enable: 2, fault: 2, echo: 0 };

export interface PartScore {
  readonly part: Part;
  readonly shown: number;
  readonly told: number;
  readonly claims: number;
  readonly right: number;
}

export interface TrueRole {
  readonly signal: string;
  readonly role: SignalRole;
}

const DEMO_PAIRS: readonly (readonly [QuantityName, QuantityName])[] = [
  ['torque_request', 'torque'],
  ['pump_request', 'pump_duty'],
];

export function demoCase(profile: ProfileName, seed: number): RolesCase {
  const sample = makeSample(profile, seed);
  const { vehicle, table } = sample;
  const observed = observeSignals(vehicle, table).filter(({ moved }) => moved.length > 0);
  const sent = new Set(observed.map(({ quantity }) => quantity));
  const truthOf = ({ bus, id, extended, lsb, length, order }: FieldPlace): TrueRole | null => {
    const here = observed.filter((one) => one.bus === bus && one.id === id && one.extended === extended);
    const bits = new Set(bitsOf({ lsb, length, order }));
    const [best] = here
      .map((one) => ({ one, shared: one.moved.filter((at) => bits.has(at)).length }))
      .sort((a, b) => b.shared - a.shared);
    const quantity = best && best.shared > 0 ? best.one.quantity : null;
    return quantity ? { signal: quantity, role: quantityOf(quantity).role } : null;
  };
  const pairs = DEMO_PAIRS.filter((pair) => pair.every((name) => sent.has(name)));
  return {
    name: `demo ${profile} ${seed}`,
    table,
    marks: operatorMarks(sample),
    placed: trueFindings(vehicle),
    truthOf,
    pairs: pairs.map(([command, feedback]) => ({ command, feedback })),
    shown: null,
  };
}

function bitsOf(place: Pick<FieldPlace, 'lsb' | 'length' | 'order'>): number[] {
  const bits: number[] = [];
  let [byte, bit] = [place.lsb.byte, place.lsb.bit];
  for (let k = 0; k < place.length; k++) {
    bits.push(byte * 8 + bit);
    if (++bit === 8) [byte, bit] = [byte + (place.order === 'little' ? 1 : -1), 0];
  }
  return bits;
}

export function evidenceCase(seed: number): RolesCase {
  const { table, trueFindings: placed, truth, marks } = makeEvidenceVehicle(seed);
  const pairs = truth.pairs
    .filter(({ role }) => role === 'feedback')
    .map(({ command, partner }) => ({ command, feedback: partner }));
  return {
    name: `evidence ${seed} ${truth.machine}`,
    table,
    marks,
    placed,
    truthOf: (found) => {
      const field = trueFieldOf(truth, found);
      return field && { signal: field.signal, role: field.role };
    },
    pairs,
    shown: truth.shown,
  };
}

export interface RolesScore {
  /** Pairs of which both sides changed. */
  readonly pairs: number;
  readonly commands: number;
  readonly feedbacks: number;
  /** Both sides right. */
  readonly both: number;
  /** One called what the other is: worse than nothing. */
  readonly swapped: number;
  readonly untold: number;
  /** Fields called commands, and those of them that are. */
  readonly claimed: number;
  readonly claimedRight: number;
  readonly falseOnes: readonly string[];
  /** Confidence of each field with a role whose truth is known, and whether it was right. */
  readonly confidences: readonly { readonly confidence: number; readonly right: boolean; readonly role: SignalRole }[];
  readonly lost: readonly string[];
  readonly parts: readonly PartScore[];
  readonly falseParts: readonly string[];
  /** Share said of the first candidate meaning of each field, and whether it is right. */
  readonly names: readonly { readonly share: number; readonly right: boolean }[];
}

export type Fields = 'placed' | 'found';

function findingsOf(one: RolesCase, fields: Fields): readonly ProposedFrame[] {
  if (fields === 'placed') return one.placed;
  return one.table.streams
    .filter(({ direction }) => direction === 'received')
    .map((stream) => findFieldsOfStream(stream, { decisions: [], seed: 1 }));
}

interface KnownRole {
  readonly found: RoleFinding;
  readonly truth: TrueRole;
}

function partScore(part: Part, known: readonly KnownRole[], shown: RolesCase['shown']): PartScore {
  const there = known.filter(({ truth }) => truth.role === part && (shown?.[truth.signal] ?? 0) >= SHOWN_LEAST[part]);
  const claims = known.filter(({ found }) => found.role === part);
  return {
    part,
    shown: shown ? there.length : 0,
    told: shown ? there.filter(({ found }) => found.role === part).length : 0,
    claims: claims.length,
    right: claims.filter(({ truth }) => truth.role === part).length,
  };
}

const falsePartsOf = (name: string, known: readonly KnownRole[]): string[] =>
  known
    .filter(({ found, truth }) => PARTS.some((part) => part === found.role) && found.role !== truth.role)
    .map(({ found, truth }) => `${name}: ${truth.signal} (${truth.role}) called ${found.role}: ${found.why}`);

export async function scoreRoles(one: RolesCase, fields: Fields, withMarks = true): Promise<RolesScore> {
  const findings = findingsOf(one, fields);
  const { table, marks } = one;
  const links = withMarks ? await linkFields({ table, findings, marks, offset: 'auto', seed: 1 }, {}) : null;
  const meaning = await findMeaning({ table, findings, survey: surveyTable(table, {}), links, seed: 1 }, {});
  const { roles } = meaning.roles;
  const known = roles.flatMap((found) => {
    const truth = one.truthOf(found);
    return truth ? [{ found, truth }] : [];
  });
  const said = (signal: string): SignalRole[] =>
    known.filter(({ truth }) => truth.signal === signal).map(({ found }) => found.role);
  const pairs = one.pairs
    .map((pair) => ({ ...pair, asked: said(pair.command), given: said(pair.feedback) }))
    .filter(({ asked, given }) => asked.length > 0 && given.length > 0);
  const claimed = known.filter(({ found }) => found.role === 'command');
  const isCommand = ({ truth }: (typeof known)[number]): boolean => truth.role === 'command';
  const commanded = ({ asked }: (typeof pairs)[number]): boolean => asked.includes('command');
  const answered = ({ given }: (typeof pairs)[number]): boolean => given.includes('feedback');
  const swapped = ({ asked, given }: (typeof pairs)[number]): boolean =>
    asked.includes('feedback') || given.includes('command');
  return {
    pairs: pairs.length,
    commands: pairs.filter(commanded).length,
    feedbacks: pairs.filter(answered).length,
    both: pairs.filter((pair) => commanded(pair) && answered(pair)).length,
    swapped: pairs.filter(swapped).length,
    untold: pairs.filter((pair) => !commanded(pair) && !swapped(pair)).length,
    claimed: claimed.length,
    claimedRight: claimed.filter(isCommand).length,
    falseOnes: claimed
      .filter((each) => !isCommand(each))
      .map(({ found, truth }) => `${one.name}: ${truth.signal} (${truth.role}): ${found.why}`),
    confidences: known
      .filter(({ found, truth }) => found.role !== 'unknown' && truth.role !== 'unknown')
      .map(({ found, truth }) => ({
        confidence: found.confidence,
        right: found.role === truth.role,
        role: found.role,
      })),
    names: meaning.naming.fields.flatMap((field) => {
      const [first] = field.candidates;
      const truth = one.truthOf(field);
      return first && truth ? [{ share: first.share, right: isMeant(first.meaning, truth.signal) }] : [];
    }),
    parts: PARTS.map((part) => partScore(part, known, one.shown)),
    falseParts: falsePartsOf(one.name, known),
    lost: pairs
      .filter((pair) => !commanded(pair) || !answered(pair))
      .map(({ command, feedback, asked, given }) => `${one.name}: ${command} ${asked} -> ${feedback} ${given}`),
  };
}
