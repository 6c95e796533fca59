/** Makes what the controller gets away from the page: files of a large map, and reading one back, take longer than a keystroke may. */
import { handoverFiles, type Handover, type HandoverOptions } from '../../../../handover/handover-files.ts';
import { withNeeds } from '../../../../handover/needs/with-needs.ts';
import type { Outcome } from '../../../../kit/outcome.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { textOf } from './map-text.ts';

/** All files; or the map alone as its file, checked by its schema. */
export interface MakingQuestion {
  readonly what: 'files' | 'map';
  readonly map: SignalMap;
  readonly options: HandoverOptions;
}
export type MakingAnswer = { readonly handover: Handover } | { readonly text: Outcome<string> };
export type MakingMessage = { readonly number: number } & (MakingAnswer | { readonly problem: string });

/** The same map as stands among the files. */
function mapText({ map, options: { plan } }: MakingQuestion): Outcome<string> {
  return textOf(plan ? withNeeds(map, plan) : map, map.made.at);
}

function answer(question: MakingQuestion): MakingAnswer | { problem: string } {
  try {
    if (question.what === 'map') return { text: mapText(question) };
    return { handover: handoverFiles(question.map, question.options) };
  } catch (error) {
    return { problem: error instanceof Error ? error.message : String(error) };
  }
}

addEventListener('message', ({ data }: MessageEvent<{ number: number; question: MakingQuestion }>) => {
  const made = answer(data.question);
  const message: MakingMessage = { number: data.number, ...made };
  postMessage(message, { transfer: 'handover' in made ? made.handover.files.map(({ bytes }) => bytes.buffer) : [] });
});
