/** Reads short captures named after one action each, finds fields over all of them, and ties the fields to the actions. */
import { joinCaptures } from '../../actions/joined-captures.ts';
import { linkShortCaptures } from '../../actions/short-captures.ts';
import type { LinkReport } from '../../actions/types.ts';
import { partAsked } from '../../draft/broadcasts.ts';
import type { FrameTable } from '../../frames/table.ts';
import { part } from '../../kit/control.ts';
import { CannotDo } from '../arguments.ts';
import { diagnosticsOf } from '../../reference/diagnostics/report.ts';
import { analyseFields, openCapture, type CaptureRequest, type TaskContext } from './context.ts';

export interface NamedRequest extends CaptureRequest {
  readonly title: string;
  /** Null where nothing was done. */
  readonly action: string | null;
}

export interface LinkShortRequest {
  readonly captures: readonly NamedRequest[];
  readonly seed: number;
  /** Report the tests that claim nothing, too. */
  readonly all: boolean;
}

interface Opened {
  readonly action: string | null;
  readonly table: FrameTable;
}

/** In the order of recording where all stamps are epochs; else as the dossier lists them. */
function inOrder(opened: readonly Opened[]): Opened[] {
  if (opened.some(({ table }) => table.origin.kind !== 'epoch')) return [...opened];
  return [...opened].sort((a, b) => Number(a.table.origin.text) - Number(b.table.origin.text));
}

export async function linkShortTask(request: LinkShortRequest, context: TaskContext): Promise<LinkReport> {
  const opened: Opened[] = [];
  for (const [i, capture] of request.captures.entries()) {
    const [from, to] = [i, i + 1].map((at) => (0.2 * at) / request.captures.length) as [number, number];
    const table = await openCapture(capture, context, part(context.control, from, to));
    if (table.origin.kind === 'none') throw new CannotDo(`The capture "${capture.title}" has no time stamps.`);
    opened.push({ action: capture.action, table });
  }
  const ordered = inOrder(opened);
  const joined = joinCaptures(ordered.map(({ table }) => table));
  const found = await analyseFields(joined.table, context, part(context.control, 0.2, 0.8));
  const { broadcasts: findings } = partAsked(diagnosticsOf(joined.table).report, found);
  const { seed } = request;
  const unsureShown = request.all ? Infinity : 0;
  const actions = ordered.map(({ action }) => action);
  return linkShortCaptures({ joined, actions, findings, seed, unsureShown }, part(context.control, 0.8, 1));
}
