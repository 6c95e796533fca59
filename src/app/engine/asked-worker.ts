/** Questions to a worker of the page that makes things: each has a number, and its answer or what went wrong comes back under it. */
export type NumberedAnswer<Answer> = { readonly number: number } & (
  { readonly made: Answer } | { readonly problem: string }
);

interface NumberedQuestion<Question> {
  readonly number: number;
  readonly question: Question;
}

interface Waiting<Answer> {
  resolve(answer: Answer): void;
  reject(error: Error): void;
}

/**
 * Starts the worker with the first question, and another one where it failed; whoever waits for a failed one is told.
 * @param start a literal `new Worker(new URL(...))`, which the build looks for
 */
export function createAsker<Question, Answer>(start: () => Worker): (question: Question) => Promise<Answer> {
  const waiting = new Map<number, Waiting<Answer>>();
  let asked = 0;
  let worker: Worker | null = null;
  const settle = (number: number, end: (one: Waiting<Answer>) => void): void => {
    const one = waiting.get(number);
    waiting.delete(number);
    if (one) end(one);
  };
  const started = (): Worker => {
    const made = start();
    made.addEventListener('message', ({ data }: MessageEvent<NumberedAnswer<Answer>>) =>
      settle(data.number, (one) => ('made' in data ? one.resolve(data.made) : one.reject(new Error(data.problem)))),
    );
    made.addEventListener('error', ({ message }) => {
      worker = null;
      for (const number of [...waiting.keys()])
        settle(number, (one) => one.reject(new Error(message || 'the worker that makes the files failed')));
    });
    return made;
  };
  return (question) => {
    worker ??= started();
    const number = ++asked;
    const answer = new Promise<Answer>((resolve, reject) => waiting.set(number, { resolve, reject }));
    worker.postMessage({ number, question } satisfies NumberedQuestion<Question>);
    return answer;
  };
}

/** The worker's side. What `answer` throws comes back as the problem's words. */
export function answerQuestions<Question, Answer>(
  answer: (question: Question) => Answer,
  transferred: (made: Answer) => Transferable[] = () => [],
): void {
  addEventListener('message', ({ data: { number, question } }: MessageEvent<NumberedQuestion<Question>>) => {
    const told = ((): NumberedAnswer<Answer> => {
      try {
        return { number, made: answer(question) };
      } catch (error) {
        return { number, problem: error instanceof Error ? error.message : String(error) };
      }
    })();
    postMessage(told, { transfer: 'made' in told ? transferred(told.made) : [] });
  });
}
