/** A JSON document of ours read back: its format and version first, then its schema; what is wrong is said with its place. */
import type { z } from 'zod';
import { bad, good, type Outcome, type Problem } from '../../kit/outcome.ts';
import { jsonPath } from '../../map/parse.ts';

export interface DocumentKind<T> {
  readonly format: string;
  readonly version: number;
  readonly schema: z.ZodType<T>;
  /** "bench record": told in problems. */
  readonly called: string;
}

/** `name` is told in problems. */
export function readVersioned<T>(text: string, name: string, kind: DocumentKind<T>): Outcome<T> {
  const { called } = kind;
  let document: unknown;
  try {
    document = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    const message = `this is not JSON: ${error instanceof Error ? error.message : String(error)}.`;
    return bad({ code: 'not-json', message, advice: `Give the ${called} as it was written.`, place: { file: name } });
  }
  const { format, version } = (document ?? {}) as { format?: unknown; version?: unknown };
  if (format !== kind.format) {
    const advice = `Give a file whose "format" is "${kind.format}".`;
    const code = `not-a-${called.replaceAll(' ', '-')}`;
    return bad({ code, message: `this is no ${called}.`, advice, place: { file: name } });
  }
  if (version !== kind.version) {
    const message = `this ${called} has version ${JSON.stringify(version)}, and this program reads version ${kind.version}.`;
    const advice = 'Use the program version that wrote it, or a newer one.';
    return bad({ code: 'unknown-version', message, advice, place: { file: name, path: 'version' } });
  }
  const parsed = kind.schema.safeParse(document);
  if (parsed.success) return good(parsed.data);
  const [first, ...rest] = parsed.error.issues.map((issue): Problem => ({
    code: 'not-in-schema',
    message: `${issue.message.replace(/\.$/, '')}.`,
    advice: `Mend the value at that path, or take an older copy of the ${called}.`,
    place: { file: name, path: jsonPath(issue.path) },
  }));
  return bad(first as Problem, ...rest);
}
