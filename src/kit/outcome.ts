/**
 * Two kinds of error: bad input returns an Outcome that says what, where and what to do; a broken
 * invariant throws. Nothing here throws for what a user's file contains.
 */
interface Place {
  readonly file?: string;
  /** 1-based. */
  readonly line?: number;
  /** 1-based. */
  readonly column?: number;
  /** A path inside a JSON document, such as "frames[3].signals[0].length". */
  readonly path?: string;
}

export interface Problem {
  /** Stable, kebab-case: what tests and callers compare. */
  readonly code: string;
  /** What is wrong, one sentence. */
  readonly message: string;
  /** What to do about it, one sentence. */
  readonly advice?: string;
  readonly place?: Place;
}

export type Outcome<T> =
  | { readonly ok: true; readonly value: T; readonly warnings: readonly Problem[] }
  | { readonly ok: false; readonly problems: readonly [Problem, ...Problem[]] };

export const good = <T>(value: T, warnings: readonly Problem[] = []): Outcome<T> => ({ ok: true, value, warnings });
export const bad = (first: Problem, ...rest: Problem[]): { ok: false; problems: readonly [Problem, ...Problem[]] } => ({
  ok: false,
  problems: [first, ...rest],
});

/** "drive.csv, line 12: identifier has 9 digits. Write 8 digits at most." */
export function describeProblem(problem: Problem): string {
  const { file, line, path } = problem.place ?? {};
  const where = [file, line === undefined ? undefined : `line ${line}`, path].filter(Boolean).join(', ');
  return [where ? `${where}: ${problem.message}` : problem.message, problem.advice].filter(Boolean).join(' ');
}

/** Thrown for what cannot happen unless the code is wrong. */
class BrokenInvariant extends Error {
  override readonly name = 'BrokenInvariant';
}

export function invariant(holds: unknown, message: string): asserts holds {
  if (!holds) throw new BrokenInvariant(message);
}
