/**
 * Links of a map's evidence asked again of this capture's marks: a signal that answered an action is to answer it here. One that
 * does not is refused only where the action was done often enough, another signal of the map answers it, the signal moves at other
 * times, and this was the action that it answered most clearly: pedals of a vehicle that cannot drive move no motor, and
 * a lever moves it on some drives alone.
 */
import { CLAIM_Q } from '../../../actions/claims.ts';
import { linkFields } from '../../../actions/link.ts';
import type { ActionLinks, Link, MarkFile } from '../../../actions/types.ts';
import type { FrameTable } from '../../../frames/table.ts';
import type { Control } from '../../../kit/control.ts';
import type { Evidence, MapSignal } from '../../../map/schema.ts';
import { findingsOf, type HeldSignal } from '../held-signal.ts';
import { MOMENTS_MOST } from '../moments.ts';
import { signalValues } from '../signal-values.ts';
import * as limit from '../thresholds.ts';
import { addAspect, notExercised, type Aspects, type Judgement, type ToldAspect } from '../told.ts';
import type { ProofAnswers } from '../types.ts';

export interface GivenMarks {
  readonly file: MarkFile;
  /** Capture time = mark time + offset. */
  readonly offset: 'auto' | number;
}

export interface HeldAnswers {
  readonly aspects: Aspects;
  readonly answers: readonly ProofAnswers[];
}

interface Told {
  readonly action: string;
  readonly effect: number;
  readonly effectSd: number;
  readonly q: number;
  /** Whether the signal answered no action more clearly. */
  readonly isClearest: boolean;
}

/** The clearest link of each action that the map's evidence tells of. */
function toldLinks({ evidence }: MapSignal): Told[] {
  const links = new Map<string, Omit<Told, 'isClearest'>>();
  for (const one of evidence) {
    const { action, effect, effectSd, q } = one as Evidence & Record<string, unknown>;
    if (one.kind !== 'link' || typeof action !== 'string' || typeof effect !== 'number') continue;
    const told = {
      action,
      effect,
      effectSd: typeof effectSd === 'number' ? effectSd : 0,
      q: typeof q === 'number' ? q : 1,
    };
    if (Math.abs(told.effectSd) >= Math.abs(links.get(action)?.effectSd ?? 0)) links.set(action, told);
  }
  const clearest = Math.max(0, ...[...links.values()].map(({ effectSd }) => Math.abs(effectSd)));
  return [...links.values()].map((told) => ({ ...told, isClearest: Math.abs(told.effectSd) >= clearest }));
}

const isOf = (link: Link, { stream, frame, compiled: { signal } }: HeldSignal): boolean =>
  link.bus === stream.bus &&
  Number(link.id) === Number(frame.id) &&
  link.extended === frame.extended &&
  link.field === signal.name;

interface Asked {
  readonly held: HeldSignal;
  readonly told: Told;
  readonly action: ActionLinks;
  /** When the action was done, seconds of the capture. */
  readonly atS: readonly number[];
  /** Whether another signal of the map that answered before answers here. */
  readonly othersAnswer: boolean;
}

const isTheirWay = (link: Link, { effect }: Told): boolean =>
  link.alternating === true || link.isPace === true || Math.sign(link.effect) === Math.sign(effect);

function judge({ held, told, action, atS, othersAnswer }: Asked): Judgement {
  const links = action.links.filter((link) => isOf(link, held));
  const sure = links.find((link) => link.q <= CLAIM_Q && isTheirWay(link, told));
  const name = `"${action.action}"`;
  if (sure)
    return {
      verdict: 'holds',
      detail: `it answers ${name} here too: ${sure.moves ? `${sure.moves.at} of ${sure.moves.of} times` : `${sure.n} times`}, q ${Number(sure.q.toPrecision(2))}`,
      figures: { answered: sure.moves?.at ?? sure.n, marks: action.marks, q: sure.q },
      moments: [],
    };
  if (action.marks < limit.MARKS_NEEDED)
    return notExercised(`${name} was done ${action.marks} times: too few to ask for an answer`);
  if (!othersAnswer) return notExercised(`nothing that answered ${name} before answers it here`);
  const { changes } = signalValues(held.compiled, held.stream);
  if (changes < limit.CHANGES_NEEDED) return notExercised(`it rests here, so that ${name} cannot be asked of it`);
  if (!told.isClearest) return notExercised(`it does not answer ${name} here; it answers another action more clearly`);
  if (told.q > limit.ANSWER_SURE_Q)
    return notExercised(`it may have answered ${name} by luck alone before (q ${told.q})`);
  const nearest = Math.min(1, ...links.map(({ p }) => p));
  if (nearest < limit.ANSWER_OPEN_P || Math.abs(told.effectSd) < limit.ANSWER_CLEAR_SD)
    return notExercised(`whether it answers ${name} here is open (p ${Number(nearest.toPrecision(2))})`);
  return {
    verdict: 'fails',
    detail: `it answered ${name} before and answers none of ${action.marks} here, while other signals do`,
    figures: { answered: 0, marks: action.marks, p: nearest },
    moments: atS.slice(0, MOMENTS_MOST),
  };
}

/** Deterministic for one seed. Cost: a link search over the signals that answered. */
export async function holdAnswers(
  { file, offset }: GivenMarks,
  table: FrameTable,
  signals: readonly HeldSignal[],
  seed: number,
  control: Control,
): Promise<HeldAnswers> {
  const done = new Set(file.marks.map(({ action }) => action));
  const asked = signals
    .map((held) => ({ held, links: toldLinks(held.compiled.signal).filter(({ action }) => done.has(action)) }))
    .filter(({ links }) => links.length > 0);
  const findings = findingsOf(asked.map(({ held }) => held));
  const report = await linkFields({ table, findings, marks: file, offset, seed, unsureShown: Infinity }, control);
  const aspects = new Map<MapSignal, readonly ToldAspect[]>();
  const isUnsettled = report.clock.from === 'not-found';
  const answers = report.actions.map((action): ProofAnswers => {
    const count = { holds: 0, fails: 0, 'not-exercised': 0 };
    const own = asked.flatMap(({ held, links }) =>
      links.filter((link) => link.action === action.action).map((told) => ({ held, told })),
    );
    const answering = new Set(
      own.filter(({ held, told }) =>
        action.links.some((link) => link.q <= CLAIM_Q && isOf(link, held) && isTheirWay(link, told)),
      ),
    );
    const atS = file.marks
      .filter((mark) => mark.action === action.action)
      .map(({ startS }) => startS + report.clockOffsetS);
    for (const each of own) {
      const othersAnswer = !isUnsettled && [...answering].some((other) => other !== each);
      const judgement = judge({ ...each, action, atS, othersAnswer });
      count[judgement.verdict]++;
      const { signal } = each.held.compiled;
      addAspect(aspects, signal, { aspect: 'answer', ...judgement });
    }
    const { holds, fails, 'not-exercised': notExercised } = count;
    return { action: action.action, marks: action.marks, holds, fails, notExercised };
  });
  return { aspects, answers };
}
