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
import type { Control, Progress } from '../src/kit/control.ts';
import type { Outcome } from '../src/kit/outcome.ts';
import { thinProgress } from './pool.ts';

/** Questions that are answered in slices; their answers are transferred. */
export type Question =
  | 'survey'
  | 'modes'
  | 'profile'
  | 'drift'
  | 'overview'
  | 'load'
  | 'weave'
  | 'traces'
  | 'valuesAt'
  | 'repetitions'
  | 'guardCheck'
  | 'payloadAt';
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
  /** Closes the port behind the function. */
  release(): void;
}

/** comlink calls a proxied function over a port of its own, and returns a promise. */
function tellInOrder<T>(proxied: (news: T) => void): Told<T> {
  let last: unknown = null;
  return {
    tell: (news) => {
      last = proxied(news);
    },
    arrived: async () => void (await last),
    release: () => (proxied as Partial<Comlink.ProxyMethods>)[Comlink.releaseProxy]?.(),
  };
}

export function createCaptureHost<Posted>(platform: Platform<Posted>): CaptureHost<Posted> {
  const engine = createInlineEngine(platform);
  const running = new Map<number, StopSource>();
  /** Runs what can be stopped, and waits until all its news has arrived. */
  const underTicket = async <News, T>(
    ticket: number,
    progress: Told<Progress>,
    news: Told<News>,
    work: (control: Control) => Promise<T>,
  ): Promise<T> => {
    const stop = createStopSource();
    running.set(ticket, stop);
    try {
      const answer = await work({ signal: stop.signal, onProgress: thinProgress(progress.tell) });
      await Promise.all([progress.arrived(), news.arrived()]);
      return answer;
    } finally {
      running.delete(ticket);
      progress.release();
      news.release();
    }
  };
  return {
    open(ticket, inputs, options, onReading, onProgress) {
      const sources = inputs.map(({ source, bus }) => ({ source: platform.sourceOf(source), bus }));
      const reading = tellInOrder(onReading);
      return underTicket(ticket, tellInOrder(onProgress), reading, (control) =>
        engine.open(sources, options, reading.tell, control),
      );
    },
    async ask(name, args) {
      const question = engine[name] as (...given: unknown[]) => Promise<never>;
      const answer = await question(...args);
      return Comlink.transfer(answer as object, buffersOf(answer)) as never;
    },
    analyse(ticket, request, onProgress, onPartial) {
      const partial = tellInOrder(onPartial);
      return underTicket(ticket, tellInOrder(onProgress), partial, (control) =>
        engine.analyse(request as never, control, partial.tell),
      );
    },
    stop: (ticket) => running.get(ticket)?.stop(),
    close: () => engine.close(),
  };
}
