/**
 * Words on the command line into options. A wrong word is wrong usage (exit 2) and the message says which
 * word, and what was expected; nothing is run then.
 */
import { parseArgs } from 'node:util';

/** Wrong usage: exit 2. */
export class WrongUsage extends Error {
  override readonly name = 'WrongUsage';
}

/** It could not do what was asked: exit 1. */
export class CannotDo extends Error {
  override readonly name = 'CannotDo';
}

export interface OptionSpec {
  readonly name: string;
  readonly short?: string;
  /** Shown in help: "FILE"; absent for a switch. */
  readonly value?: string;
  readonly repeats?: boolean;
  readonly required?: boolean;
  readonly help: string;
}

export interface ParsedWords {
  /** Words before any `--`. */
  readonly words: readonly string[];
  /** Words after `--`, or null where there is none. */
  readonly afterDashes: readonly string[] | null;
  one(name: string): string | undefined;
  many(name: string): readonly string[];
  has(name: string): boolean;
}

type Raw = Record<string, string | boolean | (string | boolean)[] | undefined>;

/** @throws WrongUsage naming the word that is off. */
export function parseWords(args: readonly string[], specs: readonly OptionSpec[]): ParsedWords {
  const split = args.indexOf('--');
  const before = split < 0 ? args : args.slice(0, split);
  const options = Object.fromEntries(
    specs.map((spec) => [
      spec.name,
      {
        type: spec.value ? ('string' as const) : ('boolean' as const),
        multiple: spec.repeats ?? false,
        ...(spec.short ? { short: spec.short } : {}),
      },
    ]),
  );
  let values: Raw;
  let words: string[];
  try {
    const parsed = parseArgs({
      args: joinNegativeValues(before, specs),
      options,
      allowPositionals: true,
      strict: true,
    });
    values = parsed.values as Raw;
    words = parsed.positionals;
  } catch (error) {
    throw new WrongUsage(plainMessage(error));
  }
  const parsed = accessors(values, words, split < 0 ? null : args.slice(split + 1));
  const missing = specs.find((spec) => spec.required && !parsed.has(spec.name));
  if (missing) throw new WrongUsage(`--${missing.name} ${missing.value ?? ''} is needed: ${missing.help}`);
  return parsed;
}

/** `--marks-offset -2.84` is a value, not an option: negative numbers are joined to the option before them. */
function joinNegativeValues(args: readonly string[], specs: readonly OptionSpec[]): string[] {
  const takesValue = new Set(specs.filter((spec) => spec.value).map((spec) => `--${spec.name}`));
  const joined: string[] = [];
  for (let i = 0; i < args.length; i++) {
    const word = args[i] as string;
    const next = args[i + 1];
    if (takesValue.has(word) && next !== undefined && /^-\.?\d/.test(next)) {
      joined.push(`${word}=${next}`);
      i++;
    } else joined.push(word);
  }
  return joined;
}

function accessors(values: Raw, words: readonly string[], afterDashes: readonly string[] | null): ParsedWords {
  const many = (name: string): string[] =>
    [values[name] ?? []].flat().filter((v): v is string => typeof v === 'string');
  return { words, afterDashes, many, one: (name) => many(name)[0], has: (name) => values[name] !== undefined };
}

function plainMessage(error: unknown): string {
  const text = error instanceof Error ? error.message : String(error);
  return (text.split('. To specify')[0] as string).replace(/\n/g, ' ');
}

/** @throws WrongUsage where the text is no finite number. */
export function numberOf(text: string, option: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new WrongUsage(`--${option} takes a number, not "${text}".`);
  return value;
}

/** "auto", or seconds. */
export function offsetOf(text: string | undefined, option: string): 'auto' | number {
  return text === undefined || text === 'auto' ? 'auto' : numberOf(text, option);
}
