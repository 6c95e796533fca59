/** How well sender groups are found on one simulated vehicle, against its true modules. Only periodic identifiers count; who has no group counts as alone. */
import { PROFILES, type ProfileName } from '../../src/demo/profiles.ts';
import { recordDrive } from '../../src/demo/record.ts';
import type { LoggerOptions } from '../../src/demo/recording/logger.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { writeScript } from '../../src/demo/script.ts';
import type { Vehicle } from '../../src/demo/true-frame.ts';
import { makeVehicle } from '../../src/demo/vehicle.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { Survey } from '../../src/timing/types.ts';
import { keyOf } from './support/observed.ts';
import { adjustedRandIndex, countConfident, pairScore, trueGroups } from './support/score-groups.ts';

export interface SenderCase {
  readonly profile: ProfileName;
  readonly seed: number;
  readonly durationS: number;
  readonly logger?: Partial<LoggerOptions>;
  /** Clocks of modules lie so far apart, parts per million, in turn; else as the vehicle has them. */
  readonly skewsPpm?: readonly number[];
}

export interface SenderScore {
  readonly index: number;
  readonly precision: number;
  readonly recall: number;
  /** Periodic identifiers; memberships of 0.9 and more; those of them in the group of their module. */
  readonly identifiers: number;
  readonly confident: number;
  readonly right: number;
  /** Copies by a gateway: in the capture, named as such, and others named so. */
  readonly copies: number;
  readonly copiesFound: number;
  readonly copiesFalse: number;
}

function withSkews(vehicle: Vehicle, skewsPpm: readonly number[] | undefined): Vehicle {
  if (!skewsPpm) return vehicle;
  const modules = vehicle.modules.map((module, place) => {
    const skewPpm = skewsPpm[place % skewsPpm.length] as number;
    const timing = { ...module.habits.timing, skewPpm };
    return { ...module, habits: { ...module.habits, timing } };
  });
  return { ...vehicle, modules };
}

function countCopies(vehicle: Vehicle, survey: Survey): [number, number, number] {
  const copies = new Set(vehicle.frames.filter(({ copyOf }) => copyOf !== null).map(({ map }) => keyOf(map)));
  const received = survey.frames.filter(({ direction }) => direction === 'received');
  const isCopy = received.map((frame) => copies.has(keyOf(frame)));
  const named = received.map(({ copyOf }) => copyOf !== null);
  return [
    isCopy.filter(Boolean).length,
    isCopy.filter((copy, at) => copy && named[at]).length,
    named.filter((copy, at) => copy && !isCopy[at]).length,
  ];
}

/** Records one vehicle, ready all the while, and scores what the survey says of its senders. */
export function scoreSenders({ profile, seed, durationS, logger, skewsPpm }: SenderCase): SenderScore {
  const vehicle = withSkews(makeVehicle(seed, PROFILES[profile]), skewsPpm);
  const script = writeScript(seed, { durationS, begins: 'ready', ends: 'ready' });
  const survey = surveyTable(tableOf(recordDrive(vehicle, script, { seed, skewPpm: 8, ...logger }).recording), {});
  const truth = trueGroups(vehicle);
  const rows = survey.frames.filter(
    (frame) => frame.direction === 'received' && frame.timing.kind === 'periodic' && truth.has(keyOf(frame)),
  );
  const labels = rows.map((frame) => [truth.get(keyOf(frame)) as string, frame.group ?? keyOf(frame)] as const);
  const [copies, copiesFound, copiesFalse] = countCopies(vehicle, survey);
  const { precision, recall } = pairScore(labels);
  return {
    index: adjustedRandIndex(labels),
    precision: Number.isNaN(precision) ? 1 : precision,
    recall,
    identifiers: labels.length,
    ...countConfident(survey.groups, (member) => truth.get(keyOf(member)) ?? ''),
    copies,
    copiesFound,
    copiesFalse,
  };
}
