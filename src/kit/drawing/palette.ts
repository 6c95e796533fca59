/** The inks that a picture is drawn with, by name: who shows it says what they are, as colours or as the names of a style sheet. */

export interface Palette {
  readonly theme: 'paper' | 'night';
  readonly ground: string;
  readonly surface: string;
  readonly rail: string;
  readonly ink: string;
  readonly ink2: string;
  readonly ink3: string;
  readonly rule: string;
  readonly rule2: string;
  readonly ruleKey: string;
  readonly threadRest: string;
  readonly accent: string;
  readonly accentWash: string;
  readonly onAccent: string;
  readonly hatchWash: string;
  /** By letter A..H; see `groupColor`. */
  readonly groups: Readonly<Record<string, string>>;
  /** Six inks; an action's is `hatches[index % 6]`. */
  readonly hatches: readonly string[];
  readonly standing: Readonly<Record<'guess' | 'supported' | 'proven', string>>;
}

/** Letters that have a hue of their own. */
export const HUES = ['a', 'b', 'c', 'd', 'e', 'f', 'g', 'h'] as const;

/** 0 for "A", 25 for "Z", 26 for "AA". */
const placeOf = (group: string): number =>
  [...group].reduce((sum, letter) => sum * 26 + letter.charCodeAt(0) - 64, 0) - 1;

/** The hue belongs to the letter; above eight groups hues come again. */
const hueOf = (group: string): string => HUES[Math.max(0, placeOf(group)) % HUES.length] ?? HUES[0];

/** Whether another group has this hue already: then a dashed casing tells them apart. */
export const isHueRepeated = (group: string | null): boolean => group !== null && placeOf(group) >= HUES.length;

/** Without a group: ink. */
export const groupColor = (palette: Palette, group: string | null): string =>
  (group && palette.groups[hueOf(group).toUpperCase()]) || palette.ink2;

/** The same for styles; without a group what is given. */
export const groupStyle = (group: string | null, without: string): string =>
  group ? `var(--group-${hueOf(group)})` : without;
