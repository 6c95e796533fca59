/** The keep-alive plan of a map from captures, and the traces of its report: each looked at by the job `needs`, and those with a module missing held against the first. */
import type { MarkFile } from '../../actions/types.ts';
import { walkSteps } from '../../frames/pictures/steps.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { AbsenceSeen } from '../../handover/needs/absences.ts';
import type { CaptureObservations } from '../../handover/needs/observe/types.ts';
import { keepAlivePlan } from '../../handover/needs/plan.ts';
import { sendersOf } from '../../handover/needs/senders.ts';
import type { KeepAlivePlan } from '../../handover/needs/types.ts';
import type { ReportTraces } from '../../handover/report/traces.ts';
import { absenceSeen } from '../../jobs/absence-seen.ts';
import { part, type Control } from '../../kit/control.ts';
import type { SignalMap } from '../../map/schema.ts';
import { identifiersByBus, identifiersOfMap, matchBuses } from '../../proof/buses.ts';
import { compareProfiles } from '../../proof/compare/compare-profiles.ts';
import type { ComparisonProfile } from '../../proof/compare/profile-types.ts';
import { profileSurveyed } from '../../proof/compare/profile.ts';
import { surveySteps, wholeSpan } from '../../timing/survey.ts';
import { analyse, openCapture, type CaptureRequest, type TaskContext } from './context.ts';
import { namedModes } from './survey.ts';

export interface NamedCapture extends CaptureRequest {
  /** What the plan calls it. */
  readonly title: string;
}

export interface NeedsTaskRequest {
  readonly map: SignalMap;
  /** Nothing is missing in these; the first is what absences are held against. */
  readonly whole: readonly NamedCapture[];
  /** Of the first, naming its modes. */
  readonly marks: MarkFile | null;
  readonly marksOffset: 'auto' | number;
  readonly seed: number;
  readonly absent: readonly (NamedCapture & { readonly missing: string })[];
  readonly busMap: Readonly<Record<string, string>>;
  /** How the map's signals went in the first capture, for a report. */
  readonly wantsTraces?: boolean;
}

interface Looked {
  readonly observations: CaptureObservations;
  /** Null where nothing is to be compared. */
  readonly profile: ComparisonProfile | null;
  readonly busMap: Readonly<Record<string, string | null>>;
  /** Null where they were not asked for. */
  readonly traces: ReportTraces | null;
}

export interface NeedsTaskAnswer {
  readonly plan: KeepAlivePlan;
  readonly traces: ReportTraces | null;
}

const busesOf = (map: SignalMap, table: FrameTable, told: Readonly<Record<string, string>>) =>
  Object.fromEntries(matchBuses(identifiersOfMap(map), identifiersByBus(table), told));

interface Looking {
  readonly marks: MarkFile | null;
  readonly traced: boolean;
}

async function look(
  capture: NamedCapture,
  request: NeedsTaskRequest,
  { marks, traced }: Looking,
  context: TaskContext,
  control: Control,
): Promise<Looked> {
  const table = await openCapture(capture, context, part(control, 0, 0.3));
  const { named } = await namedModes(table, { ...request, marks }, context, part(control, 0.3, 0.6));
  const survey = await walkSteps(surveySteps(table, {}, wholeSpan(table), named), part(control, 0.6, 0.8));
  const busMap = busesOf(request.map, table, request.busMap);
  const asked = { job: 'needs' as const, capture: capture.title, survey, senders: sendersOf(request.map), busMap };
  const wanted = { job: 'report-traces' as const, frames: request.map.frames, title: capture.title, busMap };
  const compares = request.absent.length > 0;
  return {
    observations: await analyse('needs', table, asked, context, part(control, 0.8, 0.9)),
    traces: traced ? await analyse('report-traces', table, wanted, context, part(control, 0.9, 0.95)) : null,
    profile: compares ? await walkSteps(profileSurveyed(table, survey), part(control, 0.95, 1)) : null,
    busMap,
  };
}

/** Null where there is nothing to hold it against. */
function absenceOf(missing: string, first: Looked | undefined, without: Looked): AbsenceSeen | null {
  if (!first?.profile || !without.profile) return null;
  return absenceSeen({
    name: missing,
    lastsS: without.profile.durationS,
    comparison: compareProfiles(first.profile, without.profile),
    observations: without.observations,
    busMap: first.busMap,
  });
}

export async function needsTask(request: NeedsTaskRequest, context: TaskContext): Promise<NeedsTaskAnswer> {
  const { map, whole, absent, marks } = request;
  const total = whole.length + absent.length;
  const share = (at: number): Control => part(context.control, at / total, (at + 1) / total);
  const looked: Looked[] = [];
  for (const [at, capture] of whole.entries())
    looked.push(
      await look(
        capture,
        request,
        { marks: at === 0 ? marks : null, traced: at === 0 && request.wantsTraces === true },
        context,
        share(at),
      ),
    );
  const absences: AbsenceSeen[] = [];
  for (const [at, capture] of absent.entries()) {
    const without = await look(capture, request, { marks: null, traced: false }, context, share(whole.length + at));
    const absence = absenceOf(capture.missing, looked[0], without);
    if (absence) absences.push(absence);
  }
  const plan = keepAlivePlan(
    map,
    looked.map(({ observations }) => observations),
    absences,
  );
  return { plan, traces: looked[0]?.traces ?? null };
}
