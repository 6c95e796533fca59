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
  /** Words that are no options; those before `--` where it parts two captures. */
  readonly words: readonly string[];
  /** Words after a `--` that parts two captures; empty elsewhere. */
  readonly second: readonly string[];
  one(name: string): string | undefined;
  many(name: string): readonly string[];
  has(name: string): boolean;
}

type Raw = Record<string, (string | boolean)[] | undefined>;

/** How Node's own parser wants them. Every value is collected, so that a repeated one can be refused. */
function nodeOptions(specs: readonly OptionSpec[]) {
  return Object.fromEntries(
    specs.map((spec) => [
      spec.name,
      {
        type: spec.value ? ('string' as const) : ('boolean' as const),
        multiple: true,
        ...(spec.short ? { short: spec.short } : {}),
      },
    ]),
  );
}

function parseNode(args: readonly string[], specs: readonly OptionSpec[]): { values: Raw; positionals: string[] } {
  try {
    const given = joinNegativeValues(args, specs);
    return parseArgs({ args: given, options: nodeOptions(specs), allowPositionals: true, strict: true }) as {
      values: Raw;
      positionals: string[];
    };
  } catch (error) {
    throw new WrongUsage(plainMessage(error));
  }
}

function checkCounts(parsed: ParsedWords, specs: readonly OptionSpec[]): void {
  const missing = specs.find((spec) => spec.required && !parsed.has(spec.name));
  if (missing) throw new WrongUsage(`--${missing.name} ${missing.value ?? ''} is needed: ${missing.help}`);
  const twice = specs.find((spec) => spec.value && !spec.repeats && parsed.many(spec.name).length > 1);
  if (twice) throw new WrongUsage(`--${twice.name} is given ${parsed.many(twice.name).length} times; give it once.`);
}

/**
 * @param parted `--` parts the words of two captures, and options may stand on either side; else it only ends the options.
 * @throws WrongUsage naming the word that is off.
 */
export function parseWords(args: readonly string[], specs: readonly OptionSpec[], parted = false): ParsedWords {
  const split = parted ? args.indexOf('--') : -1;
  const first = parseNode(split < 0 ? args : args.slice(0, split), specs);
  const second = split < 0 ? null : parseNode(args.slice(split + 1), specs);
  const values: Raw = {};
  for (const { name } of specs) {
    const both = [first.values[name] ?? [], second?.values[name] ?? []].flat();
    if (both.length > 0) values[name] = both;
  }
  const parsed = accessors(values, first.positionals, second?.positionals ?? []);
  checkCounts(parsed, specs);
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

function accessors(values: Raw, words: readonly string[], second: readonly string[]): ParsedWords {
  const many = (name: string): string[] => (values[name] ?? []).filter((v): v is string => typeof v === 'string');
  return { words, second, many, one: (name) => many(name)[0], has: (name) => values[name] !== undefined };
}

function plainMessage(error: unknown): string {
  const text = error instanceof Error ? error.message : String(error);
  return (text.split('. To specify')[0] as string).replace(/\n/g, ' ');
}

/** @throws WrongUsage where the text is no finite number. */
function numberOf(text: string, option: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new WrongUsage(`--${option} takes a number, not "${text}".`);
  return value;
}

/** @throws WrongUsage where the text is no whole number from 0 on. */
export function wholeOf(text: string, option: string): number {
  const value = numberOf(text, option);
  if (Number.isSafeInteger(value) && value >= 0) return value;
  throw new WrongUsage(`--${option} takes a whole number from 0 on, not "${text}".`);
}

/** "auto", or seconds. */
export function offsetOf(text: string | undefined, option: string): 'auto' | number {
  return text === undefined || text === 'auto' ? 'auto' : numberOf(text, option);
}
