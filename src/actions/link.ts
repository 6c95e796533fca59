/**
 * Ties fields to actions. The marks' clock offset is found from the data (or given), then every field is asked, for
 * every action, whether it steps at the marks' start or end or differs while they last. p-values come from circular
 * shifts of the marks over the capture, which keep the field's autocorrelation and the marks' spacing;
 * shifts near zero are left out. Where the offset was searched for, the search is part of the test: nothing is
 * taken as found unless it beats what chance reaches in a whole search, once in a thousand.
 */
import type { FrameTable } from '../frames/table.ts';
import { part, type Control } from '../kit/control.ts';
import { candidatesOf, type ProposedFrame } from '../map/proposed-fields.ts';
import { circleFor, roughClock } from './clock.ts';
import { LaidFields } from './laid-fields.ts';
import { unneededOffset } from './offset-finding.ts';
import { planActions } from './plan.ts';
import { reportActions } from './report.ts';
import type { Setting } from './setting.ts';
import { settleClock, settleGiven } from './settle.ts';
import type { LinkReport, MarkFile } from './types.ts';

export interface LinkInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly marks: MarkFile;
  /** Capture time = mark time + offset. */
  readonly offset: 'auto' | number;
  readonly seed: number;
  /** Tests above q = 0.05 that are reported with each action, most promising first; 25 by default. */
  readonly unsureShown?: number;
}

const UNSURE_SHOWN = 25;

const nothingToDo = (words: string): LinkReport => ({ clockOffsetS: 0, clock: unneededOffset(words), actions: [] });

/** Which fields answer which action. Deterministic for one seed. */
export async function linkFields(input: LinkInput, control: Control): Promise<LinkReport> {
  const { table, offset, seed } = input;
  const durationS = table.endUs / 1e6;
  if (input.marks.marks.length === 0) return nothingToDo('there are no marks');
  if (table.origin.kind === 'none')
    return nothingToDo('the capture has no time stamps, so nothing can be set against the marks');
  const rough = roughClock(input.marks, table.origin, durationS);
  const searchS = offset === 'auto' ? rough.searchS : ([offset - rough.addedS, offset - rough.addedS] as const);
  const circle = circleFor(rough.marks, durationS, searchS);
  if (circle.points < 20) return nothingToDo('the capture is shorter than a second');
  const setting: Setting = {
    candidates: candidatesOf(table, input.findings),
    circle,
    plans: planActions(rough.marks, circle),
    laid: new LaidFields(circle),
  };
  const own = part(control, 0, 0.9);
  const settled =
    offset === 'auto'
      ? await settleClock(setting, rough, durationS / 2, own)
      : await settleGiven(setting, rough, offset, durationS / 2, own);
  const { clock, judged, shift } = settled;
  const standpoint = { shift, offsetS: clock.offsetS - rough.addedS };
  const actions = await reportActions(
    settled.setting,
    judged,
    standpoint,
    seed,
    input.unsureShown ?? UNSURE_SHOWN,
    part(control, 0.9, 1),
  );
  return { clockOffsetS: clock.offsetS, clock, actions };
}
