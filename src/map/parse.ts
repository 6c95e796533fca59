/**
 * A map's text to a checked map. What is wrong is said with its JSON path and what to do. Frames that need a
 * feature this program lacks are refused by name, the others are returned.
 */
import type { z } from 'zod';
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { checkMap } from './check.ts';
import { isKnownFeature } from './features.ts';
import { withRefused, type RefusedFrame } from './refused.ts';
import { frameSchema, signalMapSchema, type SignalMap } from './schema.ts';

type JsonObject = Readonly<Record<string, unknown>>;
const isObject = (value: unknown): value is JsonObject =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

function lineAndColumn(text: string, position: number): { line: number; column: number } {
  const before = text.slice(0, position).split('\n');
  return { line: before.length, column: (before.at(-1) ?? '').length + 1 };
}

/** Engines word it differently: "at position 12" or "line 3 column 5". */
function placeOfSyntaxError(text: string, message: string): { line?: number; column?: number } {
  const position = /position (\d+)/.exec(message);
  if (position) return lineAndColumn(text, Number(position[1]));
  const place = /line (\d+) column (\d+)/.exec(message);
  return place ? { line: Number(place[1]), column: Number(place[2]) } : {};
}

function readJson(text: string, name: string): Outcome<unknown> {
  try {
    return good(JSON.parse(text.replace(/^\uFEFF/, '')) as unknown);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    return bad({
      code: 'not-json',
      message: `this is not JSON: ${message}.`,
      advice: 'Give the signal map as it was written, or mend the file at that place.',
      place: { file: name, ...placeOfSyntaxError(text, message) },
    });
  }
}

/** "frames[3].signals[0].length". */
export function jsonPath(path: readonly PropertyKey[]): string {
  return path.reduce<string>((text, key) => {
    if (typeof key === 'number') return `${text}[${key}]`;
    return text ? `${text}.${String(key)}` : String(key);
  }, '');
}

function adviceFor(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case 'invalid_value':
      return `Write one of: ${issue.values.map((value) => JSON.stringify(value)).join(', ')}.`;
    case 'invalid_type':
      return `Write a value of type ${issue.expected}.`;
    case 'too_small':
      return `The least allowed is ${issue.minimum}.`;
    case 'too_big':
      return `The most allowed is ${issue.maximum}.`;
    default:
      return 'See docs/signal-map.md for what belongs there.';
  }
}

function problemOf(issue: z.core.$ZodIssue, file: string, under: readonly PropertyKey[]): Problem {
  return {
    code: 'not-in-schema',
    message: `${issue.message.replace(/\.$/, '')}.`,
    advice: adviceFor(issue),
    place: { file, path: jsonPath([...under, ...issue.path]) },
  };
}

function headProblem(document: unknown, name: string): Problem | null {
  const place = { file: name, path: 'format' };
  if (!isObject(document) || document['format'] !== 'loomscribe.signal-map') {
    const advice = 'Give a file whose "format" is "loomscribe.signal-map".';
    return { code: 'not-a-signal-map', message: 'this is not a signal map.', advice, place };
  }
  if (document['version'] === 1) return null;
  return {
    code: 'unknown-version',
    message: `this map has version ${JSON.stringify(document['version'])}, and this program reads version 1.`,
    advice: 'Use the program version that wrote it, or a newer one.',
    place: { file: name, path: 'version' },
  };
}

/** Whether a feature's name stands anywhere in a frame: as a key with something in it, or as a value. */
function mentions(value: unknown, feature: string): boolean {
  if (Array.isArray(value)) return value.some((item) => mentions(item, feature));
  if (!isObject(value)) return value === feature;
  return Object.entries(value).some(
    ([key, item]) => (key === feature && item !== null && item !== false) || mentions(item, feature),
  );
}

function frameName(frame: unknown, index: number): string {
  if (!isObject(frame)) return `frames[${index}]`;
  return `${String(frame['name'] ?? '')} (${String(frame['bus'] ?? '?')} ${String(frame['id'] ?? '?')})`.trim();
}

/**
 * The frames that an unknown feature concerns: those that name it, and those that the schema does not accept. Where
 * none can be told, all of them, since any might be decoded wrongly.
 */
function framesNeeding(feature: string, frames: readonly unknown[]): ReadonlySet<number> {
  const indexes = [...frames.keys()];
  const named = indexes.filter(
    (index) => mentions(frames[index], feature) || !frameSchema.safeParse(frames[index]).success,
  );
  return new Set(named.length > 0 ? named : indexes);
}

interface Split {
  readonly usable: readonly { readonly frame: unknown; readonly index: number }[];
  readonly refused: readonly RefusedFrame[];
  readonly warnings: readonly Problem[];
}

function splitFrames(frames: readonly unknown[], requires: readonly string[], file: string): Split {
  const reasons = new Map<number, string[]>();
  for (const feature of requires.filter((name) => !isKnownFeature(name))) {
    for (const index of framesNeeding(feature, frames)) reasons.set(index, [...(reasons.get(index) ?? []), feature]);
  }
  const numbered = frames.map((frame, index) => ({ frame, index }));
  return {
    usable: numbered.filter(({ index }) => !reasons.has(index)),
    refused: numbered.filter(({ index }) => reasons.has(index)),
    warnings: [...reasons].map(([index, features]) => ({
      code: 'frame-refused',
      message: `frame ${frameName(frames[index], index)} is left out: it may need ${features.map((f) => `"${f}"`).join(', ')}, which this program does not know.`,
      advice: 'Use a newer version of the program for this frame; it is kept when the map is written again.',
      place: { file, path: `frames[${index}]` },
    })),
  };
}

const stringsIn = (value: unknown): string[] =>
  Array.isArray(value) ? value.filter((item): item is string => typeof item === 'string') : [];

/** Parses the text of a map's file; `name` is the file as the person knows it. */
export function parseMap(text: string, name: string): Outcome<SignalMap> {
  const json = readJson(text, name);
  if (!json.ok) return json;
  const document = json.value;
  const head = headProblem(document, name);
  if (head || !isObject(document)) return bad(head as Problem);
  const frames = Array.isArray(document['frames']) ? (document['frames'] as unknown[]) : null;
  const split = splitFrames(frames ?? [], stringsIn(document['requires']), name);
  const candidate = frames ? { ...document, frames: split.usable.map(({ frame }) => frame) } : document;
  const result = signalMapSchema.safeParse(candidate);
  if (!result.success) {
    const [first, ...rest] = result.error.issues.map((issue) => problemOf(fileIndexed(issue, split), name, []));
    return bad(first as Problem, ...rest);
  }
  const map = withRefused(result.data, split.refused);
  const { errors, warnings } = checkMap(map, name);
  return good(map, [...split.warnings, ...errors, ...warnings]);
}

/** An issue's frame index as it is in the file, with refused frames counted. */
function fileIndexed(issue: z.core.$ZodIssue, split: Split): z.core.$ZodIssue {
  const [list, index, ...rest] = issue.path;
  if (list !== 'frames' || typeof index !== 'number') return issue;
  return { ...issue, path: ['frames', split.usable[index]?.index ?? index, ...rest] };
}
