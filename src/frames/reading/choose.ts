/** Lets every reader judge the sample and takes the best; where none fits, names the nearest three. */
import type { Problem } from '../../kit/outcome.ts';
import type { Steps } from '../pictures/steps.ts';
import { READERS } from '../readers/index.ts';
import type { Consumer, JudgeOptions, Judgement, ReaderKind, Sample } from './reader.ts';
import type { Recorder } from './recorder.ts';

export interface Choice {
  readonly reader: ReaderKind;
  readonly judgement: Judgement;
  readonly open: (recorder: Recorder) => Consumer;
}

/** A reader that takes nearly every line leaves nothing to find for those after it. */
const SURE = 0.97;

export function* chooseReader(sample: Sample, options: JudgeOptions): Steps<Choice | { readonly problem: Problem }> {
  const judged: { reader: ReaderKind; judgement: Judgement }[] = [];
  for (const reader of READERS) {
    // Columns given by a person say that a text file is a table.
    if (options.columns && reader.isText && !reader.isTable) continue;
    const judging = reader.judge(sample, options);
    const judgement = 'next' in judging ? yield* judging : judging;
    yield;
    judged.push({ reader, judgement });
    if (judgement.score >= SURE) break;
  }
  const best = judged.reduce((a, b) => (b.judgement.score > a.judgement.score ? b : a));
  const { open, score } = best.judgement;
  return open && score > 0 ? { ...best, open } : { problem: noReader(sample.name, judged) };
}

function noReader(file: string, judged: readonly { reader: ReaderKind; judgement: Judgement }[]): Problem {
  const nearest = [...judged]
    .sort((a, b) => (b.judgement.nearness ?? 0) - (a.judgement.nearness ?? 0))
    .slice(0, 3)
    .map(({ reader, judgement }) => `${reader.title}: ${judgement.words}`);
  return {
    code: 'no-frames',
    message: `Nothing in the file can be a frame. Nearest: ${nearest.join('; ')}.`,
    advice: 'Check that this is a recording of raw frames; for a table, say which column is what.',
    place: { file },
  };
}
