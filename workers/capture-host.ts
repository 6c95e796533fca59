/**
 * What a capture worker does: owns the frames of one capture and answers for them. The platform's parts (how files become byte
 * sources, how compute workers start, how messages are let in) are given to it.
 */
import * as Comlink from 'comlink';
import type { ReadingProgress, ReadOptions } from '../src/frames/reading-types.ts';
import type { ByteSource } from '../src/frames/source.ts';
import type { AnalysisRequest, CaptureSummary, Engine } from '../src/jobs/engine-types.ts';
import { createInlineEngine, type EngineSetting } from '../src/jobs/engine.ts';
import { buffersOf } from '../src/jobs/post.ts';
import { createStopSource, type StopSource } from '../src/jobs/stop.ts';
import type { Progress } from '../src/kit/control.ts';
import type { Outcome } from '../src/kit/outcome.ts';
import { thinProgress } from './pool.ts';

/** Questions that are answered in slices; their answers are transferred. */
export type Question = 'survey' | 'overview' | 'load' | 'weave' | 'traces' | 'valuesAt' | 'repetitions' | 'payloadAt';
export type Arguments<Name extends Question> = Parameters<Engine[Name]>;
export type Answer<Name extends Question> = Awaited<ReturnType<Engine[Name]>>;

export interface PostedInput<Posted> {
  readonly source: Posted;
  readonly bus?: string;
}

export interface CaptureHost<Posted> {
  open(
    ticket: number,
    inputs: readonly PostedInput<Posted>[],
    options: ReadOptions,
    onReading: (progress: ReadingProgress) => void,
    onProgress: (progress: Progress) => void,
  ): Promise<Outcome<CaptureSummary>>;
  ask<Name extends Question>(name: Name, args: Arguments<Name>): Promise<Answer<Name>>;
  analyse(
    ticket: number,
    request: AnalysisRequest,
    onProgress: (progress: Progress) => void,
    onPartial: (answer: unknown) => void,
  ): Promise<unknown>;
  /** Ends the opening or the long job of that ticket; unknown tickets are finished ones. */
  stop(ticket: number): void;
  close(): Promise<void>;
}

export interface Platform<Posted> extends EngineSetting {
  sourceOf(posted: Posted): ByteSource;
}

interface Told<T> {
  tell(news: T): void;
  /** All that was told has arrived: an answer must not overtake the news before it. */
  arrived(): Promise<void>;
}

/** comlink calls a proxied function over a port of its own, and returns a promise. */
function tellInOrder<T>(proxied: (news: T) => void): Told<T> {
  let last: unknown = null;
  return {
    tell: (news) => {
      last = proxied(news);
    },
    arrived: async () => void (await last),
  };
}

export function createCaptureHost<Posted>(platform: Platform<Posted>): CaptureHost<Posted> {
  const engine = createInlineEngine(platform);
  const running = new Map<number, StopSource>();
  const underTicket = async <T>(ticket: number, work: (stop: StopSource) => Promise<T>): Promise<T> => {
    const stop = createStopSource();
    running.set(ticket, stop);
    try {
      return await work(stop);
    } finally {
      running.delete(ticket);
    }
  };
  return {
    open: (ticket, inputs, options, onReading, onProgress) =>
      underTicket(ticket, async ({ signal }) => {
        const sources = inputs.map(({ source, bus }) => ({ source: platform.sourceOf(source), bus }));
        const reading = tellInOrder(onReading);
        const progress = tellInOrder(onProgress);
        const control = { signal, onProgress: thinProgress(progress.tell) };
        const outcome = await engine.open(sources, options, reading.tell, control);
        await Promise.all([reading.arrived(), progress.arrived()]);
        return outcome;
      }),
    async ask(name, args) {
      const question = engine[name] as (...given: unknown[]) => Promise<never>;
      const answer = await question(...args);
      return Comlink.transfer(answer as object, buffersOf(answer)) as never;
    },
    analyse: (ticket, request, onProgress, onPartial) =>
      underTicket(ticket, async ({ signal }) => {
        const progress = tellInOrder(onProgress);
        const partial = tellInOrder(onPartial);
        const control = { signal, onProgress: thinProgress(progress.tell) };
        const answer = await engine.analyse(request as never, control, partial.tell);
        await Promise.all([progress.arrived(), partial.arrived()]);
        return answer;
      }),
    stop: (ticket) => running.get(ticket)?.stop(),
    close: () => engine.close(),
  };
}
