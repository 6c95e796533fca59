/** Makes what the controller gets away from the page: C source and report of a large map take longer than a keystroke may. */
import { handoverFiles, type Handover, type HandoverOptions } from '../../../../handover/handover-files.ts';
import type { SignalMap } from '../../../../map/schema.ts';

export interface MakingQuestion {
  readonly map: SignalMap;
  readonly options: HandoverOptions;
}
export type MakingMessage = { readonly number: number } & (
  { readonly handover: Handover } | { readonly problem: string }
);

function answer({ map, options }: MakingQuestion): { handover: Handover } | { problem: string } {
  try {
    return { handover: handoverFiles(map, options) };
  } catch (error) {
    return { problem: error instanceof Error ? error.message : String(error) };
  }
}

addEventListener('message', ({ data }: MessageEvent<{ number: number; question: MakingQuestion }>) => {
  const made = answer(data.question);
  const message: MakingMessage = { number: data.number, ...made };
  postMessage(message, { transfer: 'handover' in made ? made.handover.files.map(({ bytes }) => bytes.buffer) : [] });
});
