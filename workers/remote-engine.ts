/** An `Engine` on this side of a capture worker: the same questions, asked over comlink. Cancelling rejects at once. */
import * as Comlink from 'comlink';
import type { CaptureInput } from '../src/frames/source.ts';
import type { Engine } from '../src/jobs/engine-types.ts';
import { isAudible, isCancelled } from '../src/jobs/stop.ts';
import { Cancelled, type Control, type StopSignal } from '../src/kit/control.ts';
import type { Answer, Arguments, CaptureHost, PostedInput, Question } from './capture-host.ts';

/** How often a signal that cannot be listened to is looked at, ms. */
const LOOK_MS = 50;

export interface CaptureThread<Posted> {
  readonly remote: Comlink.Remote<CaptureHost<Posted>>;
  /** Rejects when the thread dies of itself. */
  readonly failed: Promise<never>;
  end(): void;
}

function watchStop(signal: StopSignal | undefined, react: () => void): () => void {
  if (!signal) return () => undefined;
  if (isAudible(signal)) {
    signal.addEventListener('abort', react);
    return () => signal.removeEventListener('abort', react);
  }
  const timer = setInterval(() => {
    if (signal.aborted) react();
  }, LOOK_MS);
  return () => clearInterval(timer);
}

/** Runs what can be stopped under a ticket of its own. */
async function underSignal<T>(work: Promise<T>, control: Control, stop: () => void): Promise<T> {
  let endWatch = (): void => undefined;
  const stopped = new Promise<never>((_resolve, reject) => {
    endWatch = watchStop(control.signal, () => {
      stop();
      reject(new Cancelled());
    });
  });
  try {
    return await Promise.race([work, stopped]);
  } catch (error) {
    throw isCancelled(error) ? new Cancelled() : error;
  } finally {
    endWatch();
  }
}

/**
 * @param toPosted what is posted for a byte source: a file's handle where there is one, else its bytes
 */
export function engineOver<Posted>(
  thread: CaptureThread<Posted>,
  toPosted: (source: CaptureInput['source']) => Promise<Posted>,
): Engine {
  const { remote, failed } = thread;
  let tickets = 0;
  const orFailed = <T>(work: Promise<T>): Promise<T> => Promise.race([work, failed]);
  const ask = <Name extends Question>(name: Name, args: Arguments<Name>): Promise<Answer<Name>> =>
    orFailed(remote.ask(name as never, args as never) as Promise<Answer<Name>>);
  return {
    async open(inputs, options, onReading, control = {}) {
      if (control.signal?.aborted) throw new Cancelled();
      const posted: PostedInput<Posted>[] = [];
      for (const { source, bus } of inputs) posted.push({ source: await toPosted(source), bus });
      const ticket = ++tickets;
      const reading = Comlink.proxy(onReading ?? ((): void => undefined));
      const progress = Comlink.proxy(control.onProgress ?? ((): void => undefined));
      const work = remote.open(ticket, posted as never, options, reading, progress);
      return underSignal(orFailed(work as ReturnType<Engine['open']>), control, () => void remote.stop(ticket));
    },
    survey: (...args) => ask('survey', args),
    modes: (...args) => ask('modes', args),
    profile: (...args) => ask('profile', args),
    drift: (...args) => ask('drift', args),
    overview: (...args) => ask('overview', args),
    load: (...args) => ask('load', args),
    weave: (...args) => ask('weave', args),
    traces: (...args) => ask('traces', args),
    valuesAt: (...args) => ask('valuesAt', args),
    repetitions: (...args) => ask('repetitions', args),
    guardCheck: (...args) => ask('guardCheck', args),
    payloadAt: (...args) => ask('payloadAt', args),
    async analyse(request, control = {}, onPartial) {
      if (control.signal?.aborted) throw new Cancelled();
      const ticket = ++tickets;
      const progress = Comlink.proxy(control.onProgress ?? ((): void => undefined));
      const partial = Comlink.proxy((answer: unknown) => onPartial?.(answer as never));
      const work = remote.analyse(ticket, request as never, progress, partial);
      return underSignal(orFailed(work as Promise<never>), control, () => void remote.stop(ticket));
    },
    async close() {
      thread.end();
    },
  };
}
