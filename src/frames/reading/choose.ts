/** Lets every reader judge the sample and takes the best; where none fits, names the nearest three. */
import type { Problem } from '../../kit/outcome.ts';
import { READERS } from '../readers/index.ts';
import type { Consumer, JudgeOptions, Judgement, ReaderKind, Sample } from './reader.ts';
import type { Recorder } from './recorder.ts';

export interface Choice {
  readonly reader: ReaderKind;
  readonly judgement: Judgement;
  readonly open: (recorder: Recorder) => Consumer;
}

export function chooseReader(sample: Sample, options: JudgeOptions): Choice | { readonly problem: Problem } {
  const judged = READERS.map((reader) => ({ reader, judgement: reader.judge(sample, options) }));
  judged.sort((a, b) => b.judgement.score - a.judgement.score);
  const [best] = judged;
  const open = best?.judgement.open;
  if (best && open && best.judgement.score > 0) return { ...best, open };
  const nearest = judged.slice(0, 3).map(({ reader, judgement }) => `${reader.title}: ${judgement.words}`);
  return {
    problem: {
      code: 'no-frames',
      message: `Nothing in the file can be a frame. Nearest: ${nearest.join('; ')}.`,
      advice: 'Check that this is a recording of raw frames; for a table, say which column is what.',
      place: { file: sample.name },
    },
  };
}
