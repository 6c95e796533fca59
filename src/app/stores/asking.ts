/** What places ask of the capture that is open: the capture itself, its marks on the ruler, and the long findings. */
import { useMemo } from 'react';
import { isClockTold } from '../../actions/clock.ts';
import type { LinkReport, Mark, OffsetFinding } from '../../actions/types.ts';
import { partAsked } from '../../draft/broadcasts.ts';
import { habitsOf } from '../../fields/habits.ts';
import type { SameValueReport } from '../../fields/same-value/types.ts';
import type { FrameFindings, HandDecision } from '../../fields/types.ts';
import type { StreamKey } from '../../frames/table.ts';
import type { Dossier, DossierCapture, DossierMark } from '../../jobs/dossier.ts';
import type { Engine, ModesAnswer } from '../../jobs/engine-types.ts';
import type { Control } from '../../kit/control.ts';
import { part } from '../../kit/control.ts';
import type { RestPayload } from '../../draft/types.ts';
import type { FitReport, ReferenceClock, ReferenceFile } from '../../reference/types.ts';
import type { Clocks } from '../../timing/senders/drift-picture.ts';
import type { Survey } from '../../timing/types.ts';
import { useDiagnostics } from './diagnostics.ts';
import { useDossier } from './dossier.ts';
import { useCurrentCapture, useFinding, type CurrentCapture, type Finding } from './finding.ts';
import { findingKey, fingerprintOnce, useFindings, type FindingJob } from './findings.ts';
import { actionsOf, markFile, marksClock, onRuler, type MarksClock } from './marks-clock.ts';
import { settledSurvey } from './senders.ts';
import { modesTold, withModes } from './modes.ts';

/** The survey of the capture as it was found, over its trimmed span where there is one. */
export function useFoundSurvey(): Finding<Survey> {
  const rates = useDossier(({ dossier }) => dossier.rates);
  const trim = useCurrentCapture()?.entry.trim ?? null;
  const options = useMemo(() => ({ rates, trim }), [rates, trim]);
  const run = useMemo(
    () => (engine: Engine) => engine.survey(rates, trim ? { fromS: trim.fromS, toS: trim.toS } : undefined),
    [rates, trim],
  );
  return useFinding('survey', options, run);
}

/**
 * Modes with the capture's marks heard; nothing to ask where no mark tells of one, or as long as the marks' clock is not known: a mode named
 * after a mark that stands elsewhere would be wrong.
 */
function useModes(): Finding<ModesAnswer> {
  const trim = useCurrentCapture()?.entry.trim ?? null;
  const { marks, clockKnown } = useRulerMarks();
  const told = useMemo(() => (clockKnown ? modesTold(marks) : []), [marks, clockKnown]);
  const options = useMemo(() => ({ trim, told }), [trim, told]);
  const run = useMemo(() => {
    if (told.length === 0) return null;
    return (engine: Engine) => engine.modes(told, trim ? { fromS: trim.fromS, toS: trim.toS } : undefined);
  }, [trim, told]);
  const surveying = useFoundSurvey().slot?.state;
  return useFinding('modes', options, run, surveying !== undefined && surveying !== 'running');
}

/** The survey with senders as the dossier has them, kept letters, names and what was moved by hand, and modes named by the marks. */
export function useSurvey(): Finding<Survey> {
  const found = useFoundSurvey();
  const modes = useModes().value;
  const senders = useDossier(({ dossier }) => dossier.senders);
  const senderMoves = useDossier(({ dossier }) => dossier.senderMoves);
  const value = found.value && settledSurvey(withModes(found.value, modes), { senders, senderMoves });
  return { ...found, value };
}

/** The clocks of the capture's senders; asked once the survey is there, which reads them anyway. */
export function useClocks(): Finding<Clocks> {
  const trim = useCurrentCapture()?.entry.trim ?? null;
  const run = useMemo(
    () => (engine: Engine) => engine.drift(trim ? { fromS: trim.fromS, toS: trim.toS } : undefined),
    [trim],
  );
  const surveying = useFoundSurvey().slot?.state;
  return useFinding('drift', trim, run, surveying !== undefined && surveying !== 'running');
}

type Decisions = Dossier['decisions'];
const decidedFrames = (decisions: Decisions): [StreamKey, HandDecision[]][] => {
  const byFrame = new Map<string, [StreamKey, HandDecision[]]>();
  for (const { bus, id, extended, kind, placement, coding, counter, checksum } of decisions) {
    const name = `${bus}/${id}/${extended}`;
    const known = byFrame.get(name) ?? [{ bus, id: Number(id), extended, direction: 'received' as const }, []];
    known[1].push({
      kind,
      placement,
      ...(coding ? { coding } : {}),
      ...(counter ? { counter } : {}),
      ...(checksum ? { checksum } : {}),
    });
    byFrame.set(name, known);
  }
  return [...byFrame.values()];
};

/** What was found without decisions, so that a decision costs only its own identifier. */
const undecided = new WeakMap<Engine, readonly FrameFindings[]>();

/** Every identifier by itself, then again those about which something was decided by hand. */
async function findFields(engine: Engine, decisions: Decisions, control: Control): Promise<readonly FrameFindings[]> {
  const decided = decidedFrames(decisions);
  const all =
    undecided.get(engine) ??
    (await engine.analyse<'fields'>(
      { job: 'fields', streams: 'all', options: {} },
      part(control, 0, decided.length ? 0.9 : 1),
    ));
  undecided.set(engine, all);
  const found = [...all];
  const habits = habitsOf(all);
  for (const [stream, hand] of decided) {
    const again = await engine.analyse<'fields'>(
      { job: 'fields', streams: [stream], options: { decisions: hand, habits } },
      { signal: control.signal },
    );
    for (const frame of again) {
      const place = found.findIndex(
        (old) =>
          old.bus === frame.bus &&
          old.id === frame.id &&
          old.extended === frame.extended &&
          old.direction === frame.direction,
      );
      if (place >= 0) found[place] = frame;
    }
  }
  return found;
}

/** Proposed fields of every identifier, with what was decided by hand as constraints; once the survey is there, which people look at first. */
export function useFields(): Finding<readonly FrameFindings[]> {
  const decisions = useDossier(({ dossier }) => dossier.decisions);
  const run = useMemo(() => (engine: Engine, control: Control) => findFields(engine, decisions, control), [decisions]);
  const surveying = useFoundSurvey().slot?.state;
  return useFinding('fields', decisions, run, surveying !== undefined && surveying !== 'running');
}

/** Fields of what is broadcast, settled: null while they, or who asks whom, are being found. */
export function useBroadcasts(): readonly FrameFindings[] | null {
  const fields = useFields();
  const diagnostics = useDiagnostics();
  const findings = fields.outdated ? null : fields.value;
  const report = diagnostics.value?.report ?? null;
  const state = diagnostics.slot?.state;
  const hasFailed = state === 'failed' || state === 'stopped';
  return useMemo(() => {
    if (!findings || (!report && !hasFailed)) return null;
    return report ? partAsked(report, findings).broadcasts : findings;
  }, [findings, report, hasFailed]);
}

export const SEED = 20261125;

/** Fields that show the same quantity. */
export function useSameValues(): Finding<SameValueReport> {
  const fields = useFields();
  const findings = fields.outdated ? null : fields.value;
  const options = useMemo(() => findings && fingerprintOnce(findings), [findings]);
  const run = useMemo(() => {
    if (!findings) return null;
    return (engine: Engine, control: Control) => engine.analyse<'same'>({ job: 'same', findings, seed: SEED }, control);
  }, [findings]);
  return useFinding('same', options, run);
}

/** What links depend on. */
const linkOptions = (
  findings: readonly FrameFindings[] | null,
  marks: DossierCapture['marks'] | undefined,
  base: DossierCapture['markTimeBase'] | undefined,
  offset: DossierCapture['markOffset'] | undefined,
): unknown => ({ findings: fingerprintOnce(findings), marks, base, offset });

/** Links of all fields to all actions, and the offset of the marks' clock. Nothing to do without marks. */
export function useLinks(): Finding<LinkReport> {
  const findings = useBroadcasts();
  const entry = useCurrentCapture()?.entry;
  const marks = entry?.marks;
  const base = entry?.markTimeBase;
  const offset = entry?.markOffset;
  const options = useMemo(() => linkOptions(findings, marks, base, offset), [findings, marks, base, offset]);
  const run = useMemo(() => {
    if (!findings || !marks?.length || !base || offset === undefined) return null;
    const file = markFile({ marks, markTimeBase: base });
    return (engine: Engine, control: Control) =>
      engine.analyse<'link'>({ job: 'link', findings, marks: file, offset, seed: SEED }, control);
  }, [findings, marks, base, offset]);
  return useFinding('link', options, run);
}

/** The marks' clock as the data told it, where that was asked before an offset was set by hand: its curve stays worth seeing. */
export function useFoundClock(): OffsetFinding | null {
  const findings = useBroadcasts();
  const { marks, markTimeBase: base } = useCurrentCapture()?.entry ?? {};
  const options = useMemo(() => linkOptions(findings, marks, base, 'auto'), [findings, marks, base]);
  return useAnswered<LinkReport>('link', options)?.clock ?? null;
}

/** What was answered before, without asking for it. */
function useAnswered<T>(job: FindingJob, options: unknown): T | null {
  const digest = useCurrentCapture()?.open.summary?.digest ?? '';
  const key = useMemo(() => findingKey(digest, job, options), [digest, job, options]);
  const slot = useFindings(({ slots }) => slots[key]);
  return slot?.state === 'done' ? (slot.value as T) : null;
}

/** What a fit depends on. */
const fitOptions = (
  findings: readonly FrameFindings[] | null,
  reference: ReferenceFile | null,
  offset: 'auto' | number,
): unknown => ({
  findings: fingerprintOnce(findings),
  offset,
  reference: reference?.series.map(({ name, unit, timeS, value }) => [name, unit, [...timeS], [...value]]),
  base: reference?.timeBase,
});

/** The same for the readings' clock. */
export function useFoundReferenceClock(reference: ReferenceFile | null): ReferenceClock | null {
  const findings = useBroadcasts();
  const options = useMemo(() => fitOptions(findings, reference, 'auto'), [findings, reference]);
  return useAnswered<FitReport>('fit', options)?.clock ?? null;
}

/** Fits of all fields to one reference of the capture; null: nothing to fit. */
export function useFits(reference: ReferenceFile | null, offset: 'auto' | number): Finding<FitReport> {
  const findings = useBroadcasts();
  const options = useMemo(() => fitOptions(findings, reference, offset), [findings, reference, offset]);
  const run = useMemo(() => {
    if (!findings || !reference) return null;
    return (engine: Engine, control: Control) =>
      engine.analyse<'fit'>({ job: 'fit', findings, reference, offset, seed: SEED }, control);
  }, [findings, reference, offset]);
  return useFinding('fit', options, run);
}

/** What each identifier sends at rest: a calm stretch between the marks, found once the fields are. */
export function useRest(): Finding<readonly RestPayload[]> {
  const fields = useFields();
  const { marks } = useRulerMarks();
  const findings = fields.outdated ? null : fields.value;
  const spans = useMemo(() => marks.map(({ action, startS, endS }) => ({ action, startS, endS })), [marks]);
  const options = useMemo(() => ({ findings: findings && fingerprintOnce(findings), spans }), [findings, spans]);
  const run = useMemo(() => {
    if (!findings) return null;
    return (engine: Engine, control: Control) => engine.analyse({ job: 'rest', findings, marks: spans }, control);
  }, [findings, spans]);
  return useFinding('rest', options, run);
}

export interface RulerMarks {
  /** As they stand on the ruler, in the order of their start. */
  readonly marks: readonly (DossierMark & Mark)[];
  /** Track order; a mark's hatch is that of its action's index here. */
  readonly actions: readonly string[];
  readonly clock: MarksClock;
  /** They stand where they were made, as far as can be told: an offset was found or given, or their clock is the capture's. */
  readonly clockKnown: boolean;
}

function isClockKnown({ entry, open }: CurrentCapture, found: OffsetFinding | null): boolean {
  if (entry.markOffset !== 'auto') return true;
  if (!found || !open.summary) return false;
  return isClockTold(found, entry.markTimeBase, open.summary.origin);
}

/** The marks of the capture in ruler time. */
export function useRulerMarks(): RulerMarks {
  const dossier = useDossier((state) => state.dossier);
  const current = useCurrentCapture();
  const links = useLinks();
  const found = links.value?.clock ?? null;
  return useMemo(() => {
    const marks = current?.entry.marks ?? [];
    const clock = current ? marksClock(current.entry, current.open.summary, found) : { shiftS: 0, drift: null };
    const placed = marks.map((mark) => onRuler(mark, clock)).sort((a, b) => a.startS - b.startS);
    const clockKnown = current ? isClockKnown(current, found) : false;
    return { marks: placed, actions: actionsOf(dossier, marks), clock, clockKnown };
  }, [dossier, current, found]);
}
