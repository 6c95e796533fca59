/**
 * Vehicles of two simulators as the links scorecard takes them: a capture, marks on a clock of their own, and which field answers what. Fields are placed
 * as the truth has them. `crowded` lays captures of other vehicles beside one, on buses of their own, so that a thousand fields are
 * asked that have nothing to do with what was done.
 */
import type { LinkReport, Mark, MarkFile } from '../../src/actions/types.ts';
import { observeMarks } from '../../src/demo/marks.ts';
import type { ProfileName } from '../../src/demo/profiles.ts';
import { respondersOf } from '../../src/demo/responders.ts';
import { ACTIONS, type ActionName } from '../../src/demo/script.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import type { ProposedFrame } from '../../src/map/proposed-fields.ts';
import { makeEvidenceVehicle, type EvidenceWish } from './evidence/make-evidence.ts';
import { trueFieldOf } from './evidence/truth-of.ts';
import { MEAN_REACTION_S, quantityAt, sentQuantities, trueFindings } from './support/evidence-case.ts';
import { makeSample } from './support/vehicles.ts';

export type FoundLink = LinkReport['actions'][number]['links'][number];

/** `alone`: only its own fields are right. `paired`: always done with another, whose fields are right too. `nothing`: no field answers. */
export type Sort = 'alone' | 'paired' | 'nothing';

export interface LinksCase {
  readonly name: string;
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly marks: MarkFile;
  /** Capture time = mark time + this, the mean reaction included, in the middle of the recording; on the marks' epoch less the capture's. */
  readonly trueOffsetS: number;
  readonly driftPpm: number;
  readonly sortOf: (action: string) => Sort | null;
  readonly isDirect: (action: string, link: FoundLink) => boolean;
}

const HOURS = [-8, -5, -3, -2, -1, 1, 2, 3, 6, 9];
const START_EPOCH_S = 1_773_043_272;

const isAction = (action: string): action is ActionName => (Object.values(ACTIONS) as string[]).includes(action);

/** @param clock whole hours off as a phone on local time is, and some seconds; else up to 15 s */
export function demoCase(profile: ProfileName, seed: number, clock: 'seconds' | 'hours'): LinksCase {
  const random = createRandom(seed).fork('links clock');
  const sample = makeSample(profile, seed, { logger: { startEpochS: START_EPOCH_S } });
  const { vehicle, table, drive } = sample;
  const aheadS = clock === 'hours' ? random.pick(HOURS) * 3600 + random.between(-4, 4) : random.between(-15, 15);
  const shown = observeMarks(drive.script, { startEpochS: START_EPOCH_S, aheadS, missed: 1, extra: 1, seed });
  const marks = shown.map(({ action, startS, endS, value }): Mark => ({
    action,
    startS,
    endS,
    ...(value ? { value } : {}),
  }));
  const sent = sentQuantities(vehicle);
  const directOf = (action: string): readonly string[] =>
    isAction(action) ? respondersOf(action).direct.filter((quantity) => sent.has(quantity)) : [];
  return {
    name: `demo ${profile} ${seed} ${clock}`,
    table,
    findings: trueFindings(vehicle),
    marks: { marks, timeBase: 'epoch' },
    trueOffsetS: -aheadS - MEAN_REACTION_S,
    driftPpm: 0,
    sortOf: (action) => (directOf(action).length > 0 ? 'alone' : null),
    isDirect: (action, link) => directOf(action).includes(quantityAt(vehicle, link) ?? ''),
  };
}

export function evidenceCase(seed: number, wish: EvidenceWish = {}): LinksCase {
  const { table, trueFindings: findings, marks, truth } = makeEvidenceVehicle(seed, wish);
  const actionOf = (name: string) => truth.actions.find(({ action }) => action === name);
  const isIts = (action: string, link: FoundLink): boolean =>
    actionOf(action)?.direct.includes(trueFieldOf(truth, link)?.signal ?? '') ?? false;
  return {
    name: `evidence ${truth.machine} ${seed} ${JSON.stringify(wish)}`,
    table,
    findings,
    marks,
    trueOffsetS: truth.marksOffsetS,
    driftPpm: truth.marksDriftPpm,
    sortOf: (action) => {
      const { sort, confoundedWith = [], direct = [] } = actionOf(action) ?? {};
      if (sort !== 'answered') return sort === undefined ? null : 'nothing';
      if (direct.length === 0) return null;
      return confoundedWith.length > 0 ? 'paired' : 'alone';
    },
    isDirect: (action, link) => [action, ...(actionOf(action)?.confoundedWith ?? [])].some((one) => isIts(one, link)),
  };
}

type Beside = Pick<LinksCase, 'table' | 'findings'>;

/** The case with the frames of other vehicles on further buses: their fields answer nothing that was done here. */
export function crowded(one: LinksCase, others: readonly Beside[]): LinksCase {
  const nameOf = (bus: string, at: number): string => `beside ${at} ${bus}`;
  const streams = others.flatMap(({ table }, at) =>
    table.streams.map((stream) => ({ ...stream, bus: nameOf(stream.bus, at) })),
  );
  const findings = others.flatMap((other, at) =>
    other.findings.map((frame) => ({ ...frame, bus: nameOf(frame.bus, at) })),
  );
  return {
    ...one,
    table: { ...one.table, streams: [...one.table.streams, ...streams].map((stream, index) => ({ ...stream, index })) },
    findings: [...one.findings, ...findings],
  };
}

/** Marks at moments at which nothing was done, 5 to 12 an action, half the actions instants, on the case's own clock. */
export function idleMarks({ table, trueOffsetS, marks, name }: LinksCase, actions: number): Mark[] {
  const random = createRandom(0).fork(`idle ${name}`);
  const originS = marks.timeBase === 'epoch' ? Number(table.origin.text) : 0;
  const lengthS = table.endUs / 1e6;
  const instantOf = (hand: Random): number => originS + hand.between(0.05, 0.95) * lengthS - trueOffsetS;
  return Array.from({ length: actions }, (_, action) =>
    Array.from({ length: 5 + random.below(8) }, (): Mark => {
      const startS = instantOf(random);
      return {
        action: `${IDLE} ${action}`,
        startS,
        endS: action % 2 === 0 ? null : startS + random.between(0.5, 3),
      };
    }),
  ).flat();
}

export const IDLE = 'nobody did';
