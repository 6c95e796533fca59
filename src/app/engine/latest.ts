/**
 * The newest question wins. While one is being answered at most one more waits, and a newer one takes its place: panning
 * asks as often as it likes and the worker is never asked what nobody wants to know any more.
 */
export interface Latest<Question, Answer> {
  /** null where a newer question took the place of this one, before or after it was answered. */
  ask(question: Question): Promise<Answer | null>;
  /** Answers under way are dropped. */
  drop(): void;
}

interface Waiting<Question, Answer> {
  readonly question: Question;
  readonly number: number;
  settle(answer: Answer | null | Promise<Answer | null>): void;
}

export function createLatest<Question, Answer>(
  answer: (question: Question) => Promise<Answer>,
): Latest<Question, Answer> {
  let newest = 0;
  let busy = false;
  let waiting: Waiting<Question, Answer> | null = null;
  const start = (entry: Waiting<Question, Answer>): void => {
    busy = true;
    const found = answer(entry.question).finally(() => {
      busy = false;
      const next = waiting;
      waiting = null;
      if (next) start(next);
    });
    const outdated = (): boolean => entry.number !== newest;
    entry.settle(
      found.then(
        (value) => (outdated() ? null : value),
        (error: unknown) => (outdated() ? null : Promise.reject(error)),
      ),
    );
  };
  return {
    ask: (question) =>
      new Promise((settle) => {
        const entry = { question, number: ++newest, settle };
        if (!busy) return start(entry);
        waiting?.settle(null);
        waiting = entry;
      }),
    drop() {
      newest++;
      waiting?.settle(null);
      waiting = null;
    },
  };
}
