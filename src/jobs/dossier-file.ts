/**
 * The dossier as a file. What is wrong is said with the line where JSON breaks or with the path inside the document; keys that
 * this version does not know are kept, so that a newer dossier survives being saved by an older program.
 */
import type { z } from 'zod';
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { jsonPath } from '../map/parse.ts';
import { dossierSchema, type Dossier } from './dossier.ts';

/** So many problems are told; the rest is counted. */
const PROBLEMS_TOLD = 20;

const isObject = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** Line and column of a syntax error; runtimes word it as "at position 12" or "line 3 column 5". */
function placeOfSyntaxError(text: string, message: string): { line?: number; column?: number } {
  const named = /line (\d+) column (\d+)/.exec(message);
  if (named) return { line: Number(named[1]), column: Number(named[2]) };
  const position = /position (\d+)/.exec(message);
  if (!position) return {};
  const before = text.slice(0, Number(position[1])).split('\n');
  return { line: before.length, column: (before[before.length - 1] ?? '').length + 1 };
}

function readJson(text: string, file: string): Outcome<unknown> {
  try {
    return good(JSON.parse(text) as unknown);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    return bad({
      code: 'not-json',
      message: `this is not JSON: ${message}.`,
      advice: 'Give the dossier as it was saved; a copy that was cut short in transfer ends like this.',
      place: { file, ...placeOfSyntaxError(text, message) },
    });
  }
}

function headProblem(document: unknown, file: string): Problem | null {
  if (!isObject(document) || document['format'] !== 'loomscribe.dossier') {
    const isMap = isObject(document) && document['format'] === 'loomscribe.signal-map';
    return {
      code: 'not-a-dossier',
      message: isMap ? 'this is a signal map, not a dossier.' : 'this is not a dossier.',
      advice: isMap ? 'Give it with --map instead.' : 'Give a file whose "format" is "loomscribe.dossier".',
      place: { file, path: 'format' },
    };
  }
  if (document['version'] === 1) return null;
  return {
    code: 'unknown-version',
    message: `the dossier has version ${JSON.stringify(document['version'])}; this program reads version 1.`,
    advice: 'Open it with the program that saved it, or with a newer one.',
    place: { file, path: 'version' },
  };
}

const problemOf = (issue: z.core.$ZodIssue, file: string): Problem => ({
  code: 'not-in-schema',
  message: `${issue.message.replace(/\.$/, '')}.`,
  advice: 'Mend the value at that path, or take an older copy of the dossier.',
  place: { file, path: jsonPath(issue.path) },
});

function problemsOf(issues: readonly z.core.$ZodIssue[], file: string): Problem[] {
  const told = issues.slice(0, PROBLEMS_TOLD).map((issue) => problemOf(issue, file));
  const left = issues.length - told.length;
  if (left > 0) told.push({ code: 'more-problems', message: `${left} more places are wrong.`, place: { file } });
  return told;
}

/** A dossier's text (a byte-order mark before it is passed over) to a checked dossier. `name` is told in problems. */
export function parseDossier(text: string, name: string): Outcome<Dossier> {
  const json = readJson(text.replace(/^\uFEFF/, ''), name);
  if (!json.ok) return json;
  const head = headProblem(json.value, name);
  if (head) return bad(head);
  const parsed = dossierSchema.safeParse(json.value);
  if (parsed.success) return good(parsed.data);
  const [first, ...rest] = problemsOf(parsed.error.issues, name);
  return bad(first as Problem, ...rest);
}

/** Indented JSON that ends with a line feed. */
export function printDossier(dossier: Dossier): string {
  return JSON.stringify(dossier, null, 2) + '\n';
}
