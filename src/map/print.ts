/**
 * The map as text: stable and readable. Keys stand in the schema's order, unknown ones after them in the order
 * they came; whatever fits one line stands on one line. Frames that this program could not use go back where they were.
 */
import { refusedFrames } from './refused.ts';
import { signalMapSchema, type SignalMap } from './schema.ts';

const LINE_WIDTH = 116;

type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

function onOneLine(value: Json): string {
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(onOneLine).join(', ')}]`;
  const entries = Object.entries(value as { readonly [key: string]: Json });
  if (entries.length === 0) return '{}';
  return `{ ${entries.map(([key, item]) => `${JSON.stringify(key)}: ${onOneLine(item)}`).join(', ')} }`;
}

function printValue(value: Json, indent: string, used: number): string {
  const flat = onOneLine(value);
  if (value === null || typeof value !== 'object' || indent.length + used + flat.length <= LINE_WIDTH) return flat;
  const inner = `${indent}  `;
  if (Array.isArray(value)) {
    const lines = (value as readonly Json[]).map((item) => inner + printValue(item, inner, 1));
    return `[\n${lines.join(',\n')}\n${indent}]`;
  }
  const lines = Object.entries(value as { readonly [key: string]: Json }).map(([key, item]) => {
    const name = `${JSON.stringify(key)}: `;
    return inner + name + printValue(item, inner, name.length + 1);
  });
  return `{\n${lines.join(',\n')}\n${indent}}`;
}

/** Any plain value as JSON text, laid out as maps are, with a newline at its end. */
export function printJson(value: unknown): string {
  return printValue(JSON.parse(JSON.stringify(value)) as Json, '', 0) + '\n';
}

/** A map as the text of its file. */
export function printMap(map: SignalMap): string {
  const ordered = signalMapSchema.safeParse(map);
  const document = ordered.success ? ordered.data : map;
  const frames: unknown[] = [...document.frames];
  for (const { index, frame } of refusedFrames(map)) frames.splice(index, 0, frame);
  return printJson({ ...document, frames });
}
