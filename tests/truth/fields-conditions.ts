/** The vehicles that fields are scored on: seven conditions, each by both simulators; LOOMSCRIBE_CONDITIONS and LOOMSCRIBE_MAKERS pick some. */
import type { ProfileName } from '../../src/demo/profiles.ts';
import { findFields } from '../../src/fields/find.ts';
import { newScorecard, scoreDrive, type Scorecard } from './fields-scorecard.ts';
import { demoDrive } from './fields-truth-demo.ts';
import type { KnownDrive } from './fields-truth.ts';
import { payloadDrive, type PayloadCondition } from './otherwise/payload/make-payloads.ts';
import { seedsFor } from './support/vehicles.ts';

const LONGEST_S = 120;
export const CONDITIONS = [
  'plain',
  'dense',
  'guarded',
  'paged',
  'extended',
  'fd',
  'short',
] as const satisfies ProfileName[];
export type ConditionName = (typeof CONDITIONS)[number];

const usual: PayloadCondition = {
  identifiers: [24, 32],
  buses: 1,
  guarded: 0.45,
  keyed: 0.06,
  odd: 0.06,
  paged: 0.12,
  extended: 0.1,
  fd: 0,
  durationS: LONGEST_S,
};

const OTHERS: Record<ConditionName, PayloadCondition> = {
  plain: usual,
  dense: { ...usual, identifiers: [55, 55], buses: 2 },
  guarded: { ...usual, guarded: 1, keyed: 0.1, odd: 0.1 },
  paged: { ...usual, paged: 0.5 },
  extended: { ...usual, extended: 1 },
  fd: { ...usual, identifiers: [20, 24], fd: 0.7 },
  short: { ...usual, durationS: 40 },
};

export const MAKERS: Record<string, (condition: ConditionName, seed: number) => KnownDrive> = {
  demo: (condition, seed) => demoDrive(condition, seed, LONGEST_S),
  other: (condition, seed) => payloadDrive(condition, OTHERS[condition], seed),
};

export interface Case {
  readonly maker: string;
  readonly condition: ConditionName;
}

/** What the environment variable picks of all there are, by name. @throws where it names something else. */
function picked<T extends string>(variable: string, all: readonly T[]): readonly T[] {
  const text = process.env[variable];
  if (!text) return all;
  const names = text.split(',');
  const unknown = names.filter((name) => !all.includes(name as T));
  if (unknown.length > 0)
    throw new Error(`${variable}: nothing is called ${unknown.join(', ')}; there are ${all.join(', ')}`);
  return names as T[];
}

export const isPicked = (): boolean =>
  Boolean(process.env['LOOMSCRIBE_CONDITIONS'] ?? process.env['LOOMSCRIBE_MAKERS']);

export function pickedCases(): readonly Case[] {
  const makers = picked('LOOMSCRIBE_MAKERS', Object.keys(MAKERS));
  return picked('LOOMSCRIBE_CONDITIONS', CONDITIONS).flatMap((condition) =>
    makers.map((maker) => ({ maker, condition })),
  );
}

export async function scoreVehicle({ maker, condition }: Case, seed: number): Promise<Scorecard> {
  const card = newScorecard();
  const drive = MAKERS[maker]!(condition, seed);
  const streams = drive.streams.map(({ stream }) => stream);
  scoreDrive(drive, await findFields(streams, {}, {}), card);
  return card;
}

export const seedsOf = ({ maker, condition }: Case, count: number): readonly number[] =>
  seedsFor(`fields ${maker} ${condition}`, count).seeds;
