/** Choices about the generated C on the command line. */
import type { HandoverOptions } from '../handover/handover-files.ts';
import { WrongUsage, type OptionSpec, type ParsedWords } from './arguments.ts';

export const CODE_OPTIONS: readonly OptionSpec[] = [
  {
    name: 'scaling',
    value: 'KIND',
    help: 'physical values in C: float (double, the default), or integer: counts of a stated unit, no floating point',
  },
  { name: 'crc', value: 'KIND', help: 'checksums in C: bitwise (small, the default), or table (fast)' },
  {
    name: 'filters',
    value: 'N',
    help: 'receive filters that the hardware has, for each bus and kind of identifier (default: one an identifier)',
  },
];

function oneOf<Choice extends string>(parsed: ParsedWords, name: string, known: readonly Choice[]): Choice | undefined {
  const text = parsed.one(name);
  const found = known.find((choice) => choice === text);
  if (text === undefined || found) return found;
  throw new WrongUsage(`--${name} takes ${known.join(' or ')}, not "${text}".`);
}

function countOf(text: string | undefined): number | undefined {
  if (text === undefined) return undefined;
  if (/^[1-9][0-9]{0,3}$/.test(text)) return Number(text);
  throw new WrongUsage(`--filters takes the number of filters that the hardware has, not "${text}".`);
}

/** What was not chosen is left out. */
export function codeChoices(parsed: ParsedWords): Pick<HandoverOptions, 'scaling' | 'crc' | 'filters'> {
  const scaling = oneOf(parsed, 'scaling', ['float', 'integer']);
  const crc = oneOf(parsed, 'crc', ['bitwise', 'table']);
  const filters = countOf(parsed.one('filters'));
  return { ...(scaling ? { scaling } : {}), ...(crc ? { crc } : {}), ...(filters ? { filters } : {}) };
}
