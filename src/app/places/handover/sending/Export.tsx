/** What is about to be written in the chosen form, its cautions, its phrase. */
import { useCallback, useMemo, type ReactNode } from 'react';
import { describeProblem } from '../../../../kit/outcome.ts';
import type { ExcerptRequest } from '../../../../jobs/analyses/excerpt.ts';
import { cautionsFor } from '../../../../handover/cautions.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { useReadyEngine } from '../../../stores/finding.ts';
import { useCodeChoices } from '../choices.ts';
import { usePlanned } from '../plan/planned.ts';
import { useAsked, useExcerpt, type Ask, type MarkedRest } from './asking.ts';
import { Confirm } from './Confirm.tsx';
import { CHANGED, makeSending, useToConfirm, type Made } from './making.ts';
import { planIn } from './planned-in.ts';
import { saveExcerpt, saveTexts, sendingStem } from './saving.ts';
import type { SendingQuestion } from './sending-worker.ts';
import { useSending, type SendingKind } from './store.ts';

interface ExportProps {
  readonly map: SignalMap;
  readonly rest: MarkedRest;
  /** Keys of the frames that go. */
  readonly release: readonly string[];
}

const Preparing = (): ReactNode => (
  <p className="small inferred" role="status">
    What is to be read first is being put together.
  </p>
);

function useScheduleQuestion({ rest: { map, answer }, release }: ExportProps, wanted: boolean): SendingQuestion | null {
  const plan = usePlanned((state) => state.plan);
  const { filters: _filters, ...code } = useCodeChoices();
  const codeText = JSON.stringify(code);
  return useMemo(() => {
    if (!wanted || !map || !plan || !answer?.span) return null;
    const planned = planIn(plan, map).frames;
    const asked = { map, planned, release, span: answer.span, unwatched: answer.check?.unwatched ?? [] };
    return {
      what: 'schedule',
      asked: { ...asked, code: JSON.parse(codeText) as typeof code },
      typed: '',
    };
  }, [map, plan, answer, release, codeText, wanted]);
}

export interface ScheduleToConfirm extends Made {
  readonly question: SendingQuestion | null;
}

/** Asked once for the frames and for the form that saves. */
export function useSchedule(props: ExportProps, wanted: boolean): ScheduleToConfirm {
  const question = useScheduleQuestion(props, wanted);
  return { question, ...useToConfirm(question) };
}

/** Why a frame that was let out is not in the schedule, by its key. */
export function notesOf({ frames }: SignalMap, { made }: ScheduleToConfirm): ReadonlyMap<string, string> {
  const going = new Set(made?.going ?? []);
  const pairs = frames.flatMap((frame) => {
    const why = made?.leftOut.find(({ name }) => name === frame.name)?.why;
    return why && !going.has(frameKey(frame)) ? [[frameKey(frame), why] as const] : [];
  });
  return new Map(pairs);
}

export function ScheduleExport({ map, schedule }: { map: SignalMap; schedule: ScheduleToConfirm }): ReactNode {
  const { question, made, problem } = schedule;
  const stem = sendingStem(map);
  const save = useCallback(
    async (typed: string) => {
      if (!question) return;
      const { files } = await makeSending({ ...question, typed });
      if (!files) throw new Error(CHANGED);
      saveTexts(`${stem}.schedule.zip`, files);
    },
    [question, stem],
  );
  if (problem)
    return (
      <p role="alert" className="sending-problem">
        {problem}
      </p>
    );
  if (!made) return <Preparing />;
  if (made.phrase === '') return <p className="sending-problem">None of these frames can be scheduled.</p>;
  return (
    <Confirm cautions={made.cautions} usual={cautionsFor(map)} phrase={made.phrase} saves="Save schedule" save={save} />
  );
}

function usePartAsk({ map, rest: { spans }, release }: ExportProps, kind: 'log' | 'pcapng'): Ask | null {
  const engine = useReadyEngine()?.engine ?? null;
  const { loops, recount } = useSending();
  return useMemo(() => {
    if (!engine || !spans?.chosen) return null;
    const { action, number } = spans.chosen;
    const request: ExcerptRequest = {
      ...{ job: 'excerpt', map, marks: spans.marks, span: { action, number }, release, kind },
      ...{ loops, recount, confirm: null },
    };
    return { engine, request };
  }, [engine, map, spans, release, kind, loops, recount]);
}

export function PartExport({ kind, ...props }: ExportProps & { kind: Exclude<SendingKind, 'schedule'> }): ReactNode {
  const ask = usePartAsk(props, kind);
  useAsked(useExcerpt, ask);
  const { asked, answer, failed } = useExcerpt();
  const stem = sendingStem(props.map);
  const save = useCallback(
    async (typed: string) => {
      if (!ask) return;
      saveExcerpt(stem, kind, await ask.engine.analyse<'excerpt'>({ ...ask.request, confirm: typed }));
    },
    [ask, kind, stem],
  );
  // While evidence comes in the answer before keeps its place: saving holds what was typed against the newest.
  if (!ask || asked?.engine !== ask.engine || asked.request.kind !== kind || (!answer && !failed)) return <Preparing />;
  if (failed || !answer) return <p role="alert">{failed}</p>;
  if (answer.problems.length > 0)
    return (
      <p role="alert" className="sending-problem">
        {answer.problems.map(describeProblem).join(' ')}
      </p>
    );
  return (
    <>
      {answer.absent.length > 0 && (
        <p className="small">Not in the span, so not in the file: {answer.absent.join(', ')}.</p>
      )}
      <Confirm
        cautions={answer.cautions}
        usual={cautionsFor(props.map)}
        phrase={answer.phrase}
        saves={`Save .${kind}`}
        save={save}
      />
    </>
  );
}
