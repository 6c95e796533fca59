/** `--bus-map A=B`: which bus of the one side is which of the other, where overlap of identifiers does not tell. */
import { WrongUsage, type OptionSpec, type ParsedWords } from './arguments.ts';

export function busMapOption(help: string): OptionSpec {
  return { name: 'bus-map', value: 'A=B', repeats: true, help };
}

export function givenBusMap(parsed: ParsedWords): Record<string, string> {
  const pairs = parsed.many('bus-map').map((text) => {
    const match = /^([^=]+)=([^=]+)$/.exec(text);
    if (!match) throw new WrongUsage(`--bus-map takes two bus names, such as can0=can1, not "${text}".`);
    return [match[1] as string, match[2] as string] as const;
  });
  return Object.fromEntries(pairs);
}
