/** The vehicles that fields are scored on: seven conditions, each by four makers, and one more by two of them; LOOMSCRIBE_CONDITIONS and LOOMSCRIBE_MAKERS pick some. */
import type { ProfileName } from '../../src/demo/profiles.ts';
import { findFields } from '../../src/fields/find.ts';
import { newScorecard, scoreDrive, type Scorecard } from './fields-scorecard.ts';
import { demoDrive } from './fields-truth-demo.ts';
import type { KnownDrive } from './fields-truth.ts';
import { payloadDrive, type PayloadCondition } from './otherwise/payload/make-payloads.ts';
import { strangerDrive } from './stranger/make-stranger.ts';
import { seedsFor } from './support/vehicles.ts';
import { veteranDrive } from './veteran/make-veteran.ts';

const LONGEST_S = 120;
const SHARED = ['plain', 'dense', 'guarded', 'paged', 'extended', 'fd', 'short'] as const satisfies ProfileName[];
type SharedName = (typeof SHARED)[number];
/** `standing`: the key is on and nothing drives, as in a wrecked donor. */
const CONDITIONS = [...SHARED, 'standing'] as const;
type ConditionName = (typeof CONDITIONS)[number];

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

const OTHERS: Record<SharedName, PayloadCondition> = {
  plain: usual,
  dense: { ...usual, identifiers: [55, 55], buses: 2 },
  guarded: { ...usual, guarded: 1, keyed: 0.1, odd: 0.1 },
  paged: { ...usual, paged: 0.5 },
  extended: { ...usual, extended: 1 },
  fd: { ...usual, identifiers: [20, 24], fd: 0.7 },
  short: { ...usual, durationS: 40 },
};

interface Maker {
  readonly conditions: readonly ConditionName[];
  readonly make: (condition: never, seed: number) => KnownDrive;
}

const MAKERS = {
  demo: { conditions: SHARED, make: (condition: SharedName, seed) => demoDrive(condition, seed, LONGEST_S) },
  other: {
    conditions: SHARED,
    make: (condition: SharedName, seed) => payloadDrive(condition, OTHERS[condition], seed),
  },
  stranger: { conditions: CONDITIONS, make: strangerDrive },
  veteran: { conditions: CONDITIONS, make: veteranDrive },
} satisfies Record<string, Maker>;
type MakerName = keyof typeof MAKERS;

export interface Case {
  readonly maker: MakerName;
  readonly condition: ConditionName;
}

/** All that there are. */
export const CASES: readonly Case[] = CONDITIONS.flatMap((condition) =>
  (Object.keys(MAKERS) as MakerName[])
    .filter((maker) => (MAKERS[maker] as Maker).conditions.includes(condition))
    .map((maker) => ({ maker, condition })),
);

/** condition: one that the maker knows. */
export const driveOf = ({ maker, condition }: Case, seed: number): KnownDrive =>
  (MAKERS[maker] as Maker).make(condition as never, seed);

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

/** @throws where no picked maker knows a picked condition. */
export function pickedCases(): readonly Case[] {
  const makers = picked('LOOMSCRIBE_MAKERS', Object.keys(MAKERS));
  const conditions = picked('LOOMSCRIBE_CONDITIONS', CONDITIONS);
  const cases = CASES.filter(({ maker, condition }) => makers.includes(maker) && conditions.includes(condition));
  if (cases.length === 0) throw new Error(`${makers.join(', ')} make no vehicles that are ${conditions.join(', ')}`);
  return cases;
}

export async function scoreVehicle(each: Case, seed: number): Promise<Scorecard> {
  const card = newScorecard();
  const drive = driveOf(each, seed);
  const streams = drive.streams.map(({ stream }) => stream);
  scoreDrive(drive, await findFields(streams, {}, {}), card);
  return card;
}

export const seedsOf = ({ maker, condition }: Case, count: number): readonly number[] =>
  seedsFor(`fields ${maker} ${condition}`, count).seeds;
