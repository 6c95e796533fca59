/** What a reader is: something that judges a sample of a file and, if chosen, consumes all of it. */
import type { Problem } from '../../kit/outcome.ts';
import type { PartialPlan } from '../columns/plan.ts';
import type { Steps } from '../pictures/steps.ts';
import type { Recorder } from './recorder.ts';

/** Pieces of the unpacked file that readers judge by. */
export interface Sample {
  readonly name: string;
  /** The first bytes, as they are (UTF-16 not yet undone). */
  readonly head: Uint8Array;
  /** Whole lines from the start, as text; NUL bytes are spaces. */
  readonly lines: readonly string[];
  /** Whole lines from places deeper in the file; none where the file is packed or short. */
  readonly deepLines: readonly string[];
}

export interface JudgeOptions {
  /** Columns fixed by a person for this file. */
  readonly columns: PartialPlan | null;
  /** Seconds east of UTC, for stamps that name no zone. */
  readonly zoneS: number;
}

export interface Consumer {
  push(bytes: Uint8Array): void;
  /** After the last piece. */
  finish(): void;
}

export interface Judgement {
  /** 0 (nothing here can be a frame) to 1 (all of it is). */
  readonly score: number;
  /** How near the file comes where the score is 0, 0..1: orders the misses that a person is told. */
  readonly nearness?: number;
  /** Why it fits, for a person; or what it missed where it does not. */
  readonly words: string;
  readonly columns?: string | null;
  readonly warnings?: readonly Problem[];
  /** Absent where the score is 0. */
  readonly open?: (recorder: Recorder) => Consumer;
}

export interface ReaderKind {
  /** Stable: "log-lines". */
  readonly name: string;
  /** For a person: "log lines, (seconds) bus id#payload". */
  readonly title: string;
  /** Whether it reads a table, whose columns a person may fix. */
  readonly isTable?: boolean;
  /** Whether it reads text lines (UTF-16 is undone for those only). */
  readonly isText: boolean;
  /** In steps of some milliseconds where one look is not enough. */
  judge(sample: Sample, options: JudgeOptions): Judgement | Steps<Judgement>;
}
