/** Makes what the controller gets away from the page: files of a large map, and reading one back, take longer than a keystroke may. */
import { handoverFiles, type Handover, type HandoverOptions } from '../../../../handover/handover-files.ts';
import { withNeeds } from '../../../../handover/needs/with-needs.ts';
import type { Outcome } from '../../../../kit/outcome.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { answerQuestions } from '../../../engine/asked-worker.ts';
import { textOf } from './map-text.ts';

/** All files; or the map alone as its file, checked by its schema. */
export interface MakingQuestion {
  readonly what: 'files' | 'map';
  readonly map: SignalMap;
  readonly options: HandoverOptions;
}
export type MakingAnswer = { readonly handover: Handover } | { readonly text: Outcome<string> };

/** The same map as stands among the files. */
function mapText({ map, options: { plan } }: MakingQuestion): Outcome<string> {
  return textOf(plan ? withNeeds(map, plan) : map, map.made.at);
}

answerQuestions(
  (question: MakingQuestion): MakingAnswer =>
    question.what === 'map' ? { text: mapText(question) } : { handover: handoverFiles(question.map, question.options) },
  (made) => ('handover' in made ? made.handover.files.map(({ bytes }) => bytes.buffer) : []),
);
