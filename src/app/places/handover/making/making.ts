/** Asks the worker that makes files. Previews ask for the newest only; saving asks for itself. */
import type { Handover, HandoverOptions } from '../../../../handover/handover-files.ts';
import type { Outcome } from '../../../../kit/outcome.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { createAsker } from '../../../engine/asked-worker.ts';
import { createLatest } from '../../../engine/latest.ts';
import type { MakingAnswer, MakingQuestion } from './make-worker.ts';

const ask = createAsker<MakingQuestion, MakingAnswer>(
  () => new Worker(new URL('./make-worker.ts', import.meta.url), { type: 'module', name: 'handover' }),
);

export interface OfMap {
  readonly map: SignalMap;
  readonly options: HandoverOptions;
}

/** Rejects with what went wrong. */
export async function makeHandover(question: OfMap): Promise<Handover> {
  const answer = await ask({ ...question, what: 'files' });
  if ('handover' in answer) return answer.handover;
  throw new Error('the worker answered another question');
}

/** The map's file, read back through the schema; rejects with what went wrong. */
export async function makeMapText(question: OfMap): Promise<Outcome<string>> {
  const answer = await ask({ ...question, what: 'map' });
  if ('text' in answer) return answer.text;
  throw new Error('the worker answered another question');
}

/** null where a newer one was asked for meanwhile. */
export const previews = createLatest(makeHandover);
