/** Recordings of simulated vehicles with one gap planted in each, as the command line would have them: table, survey, marks, fields, links. */
import { linkFields } from '../../src/actions/link.ts';
import { movedMark } from '../../src/actions/marks.ts';
import type { LinkReport, Mark } from '../../src/actions/types.ts';
import { recordDrive, type Drive } from '../../src/demo/record.ts';
import { PLAIN_LOGGER, type LoggerOptions } from '../../src/demo/recording/logger.ts';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import {
  ACTIONS,
  TO_THE_FLOOR,
  writeScript,
  type ActionName,
  type DriverAction,
  type DriverScript,
} from '../../src/demo/script.ts';
import type { Vehicle } from '../../src/demo/true-frame.ts';
import { findFields } from '../../src/fields/find.ts';
import type { FrameFindings } from '../../src/fields/types.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { DonorCan, RunCardStep, SufficesInput } from '../../src/proof/suffices/types.ts';
import { surveyKnown, surveyModes, weighSurvey, wholeSpan } from '../../src/timing/survey.ts';
import { trueFindings } from './support/evidence-case.ts';
import { followCard, marksOfScript } from './suffices-person.ts';
import { movedBits } from './stream-bits.ts';

type MapPlace = Pick<FrameFindings, 'bus' | 'id' | 'extended'>;

/** What the donor can do, for the finders, and what it lacks, for the simulator. */
export interface Donor {
  readonly can: DonorCan;
  readonly lacks: Pick<DriverScript, 'unplugged' | 'fuseFired'>;
}

export const WHOLE_DONOR: Donor = { can: 'drive', lacks: { unplugged: [] } };

export interface Recorded {
  readonly vehicle: Vehicle;
  readonly drive: Drive;
  readonly table: FrameTable;
  /** On the capture's clock. */
  readonly marks: readonly Mark[];
}

const LENGTH_S = 210;
const FLOORED = 4;

/** Some presses of a pedal go to its end. */
function floored(actions: readonly DriverAction[], pedal: ActionName): DriverAction[] {
  const long = actions.filter(({ action, startS, endS }) => action === pedal && (endS ?? startS) - startS >= 1.8);
  const chosen = new Set(long.slice(0, FLOORED));
  return actions.map((one) => (chosen.has(one) ? { ...one, depth: TO_THE_FLOOR } : one));
}

/** A drive in which what can be done is done, pedals to their ends. */
export function wholeScript(seed: number): DriverScript {
  const script = writeScript(seed, { durationS: LENGTH_S, charges: true });
  const actions = floored(floored(script.actions, ACTIONS.accelerator), ACTIONS.brake);
  return { ...script, actions };
}

/** Key on, a minute of nothing, key off. */
export function restingScript(seed: number): DriverScript {
  const { key } = ACTIONS;
  const actions: DriverAction[] = [
    { action: key, startS: 3, endS: null, value: 'on' },
    { action: key, startS: 50, endS: null, value: 'off' },
  ];
  return { durationS: 75, begins: 'asleep', unplugged: [], actions, seed };
}

const changed = (script: DriverScript, change: (one: DriverAction) => DriverAction | null): DriverScript => ({
  ...script,
  actions: script.actions.flatMap((one) => change(one) ?? []).sort((a, b) => a.startS - b.startS),
});

/** An action done as often as asked at most. */
export function doneAtMost(script: DriverScript, action: ActionName, times: number): DriverScript {
  let done = 0;
  return changed(script, (one) => (one.action === action && ++done > times ? null : one));
}

const without = (script: DriverScript, actions: readonly ActionName[]): DriverScript =>
  changed(script, (one) => (actions.includes(one.action) ? null : one));

/** A pedal never past a share of its way. */
export const shallow = (script: DriverScript, pedal: ActionName, most: number): DriverScript =>
  changed(script, (one) => (one.action === pedal ? { ...one, depth: (one.depth ?? 1) * (most / TO_THE_FLOOR) } : one));

/** The one is done whenever the other is, and at no other time. */
export function together(script: DriverScript, action: ActionName, other: ActionName, seed: number): DriverScript {
  const random = createRandom(seed).fork('together');
  const alone = without(script, [other]);
  const pairs = alone.actions
    .filter((one) => one.action === action)
    .map(({ startS, endS }): DriverAction => {
      const from = startS + random.between(0.1, 0.7);
      return { action: other, startS: from, endS: Math.max(from + 0.5, (endS ?? startS) + random.between(0.1, 0.7)) };
    });
  return { ...alone, actions: [...alone.actions, ...pairs].sort((a, b) => a.startS - b.startS) };
}

function recorded(
  vehicle: Vehicle,
  script: DriverScript,
  marks: readonly Mark[],
  logger: Partial<LoggerOptions>,
): Recorded {
  return recordedAs(
    vehicle,
    recordDrive(vehicle, script, { ...PLAIN_LOGGER, skewPpm: 8, seed: script.seed, ...logger }),
    marks,
  );
}

/** @param marks on simulated time */
export function recordedAs(vehicle: Vehicle, drive: Drive, marks: readonly Mark[]): Recorded {
  const originS = (drive.recording.timeUs[0] ?? 0) / 1e6;
  return {
    vehicle,
    drive,
    table: tableOf(drive.recording),
    marks: marks.map((mark) => movedMark(mark, (atS) => atS - originS)),
  };
}

export const record = (vehicle: Vehicle, script: DriverScript, logger: Partial<LoggerOptions> = {}): Recorded =>
  recorded(vehicle, script, marksOfScript(script.actions, createRandom(script.seed).fork('marks')), logger);

export function recordCard(
  vehicle: Vehicle,
  card: readonly RunCardStep[],
  seed: number,
  { lacks }: Donor = WHOLE_DONOR,
): Recorded {
  const { script, marks } = followCard(card, seed);
  return recorded(vehicle, { ...script, ...lacks }, marks, {});
}

/** Bits that moved in a stream, as the finders' statistics say it: 1 where one did. */
function changesOf(table: FrameTable, { bus, id, extended }: MapPlace): number[] {
  const stream = table.streams.find((each) => each.bus === bus && each.id === Number(id) && each.extended === extended);
  if (!stream) return [];
  const moved = movedBits(stream);
  return Array.from({ length: 8 * stream.stride }, (_, bit) => Number(moved.has(bit)));
}

/** What was found, as much as a case needs: links take most of the time. */
export async function askedOf(
  { vehicle, table, marks }: Recorded,
  wish: { readonly links?: boolean; readonly guardsOf?: readonly string[]; readonly donor?: DonorCan } = {},
): Promise<SufficesInput> {
  const known = runSteps(surveyKnown(table));
  const modes = runSteps(surveyModes(table, known, marks));
  const survey = runSteps(weighSurvey(table, known, modes, {}, wholeSpan(table)));
  const placed = trueFindings(vehicle);
  const links: LinkReport | null = wish.links
    ? await linkFields({ table, findings: placed, marks: { marks, timeBase: 'capture' }, offset: 0, seed: 1 }, {})
    : null;
  const streams = table.streams.filter(({ bus, id, extended }) =>
    (wish.guardsOf ?? []).includes(`${bus} ${id} ${extended}`),
  );
  const found = streams.length > 0 ? await findFields(streams, {}, {}) : [];
  const findings = wish.links
    ? (placed.map((one) => ({
        ...one,
        counters: [],
        checksums: [],
        bits: { changeShare: changesOf(table, one) },
      })) as unknown as FrameFindings[])
    : found;
  return { table, survey, marks, links, findings, ...(wish.donor ? { donor: wish.donor } : {}) };
}
