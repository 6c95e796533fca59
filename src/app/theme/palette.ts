/** The tokens as canvas can use them: read once from the page's styles, again only when the theme changes. */
import { useEffect, useState } from 'react';

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

const LETTERS = ['a', 'b', 'c', 'd', 'e', 'f', 'g', 'h'];

function readPalette(root: HTMLElement = document.documentElement): Palette {
  const styles = getComputedStyle(root);
  const token = (name: string): string => styles.getPropertyValue(`--${name}`).trim();
  return {
    theme: root.dataset['theme'] === 'night' ? 'night' : 'paper',
    ground: token('ground'),
    surface: token('surface'),
    rail: token('rail-ground'),
    ink: token('ink'),
    ink2: token('ink-2'),
    ink3: token('ink-3'),
    rule: token('rule'),
    rule2: token('rule-2'),
    ruleKey: token('rule-key'),
    threadRest: token('thread-rest'),
    accent: token('accent'),
    accentWash: token('accent-wash'),
    onAccent: token('on-accent'),
    hatchWash: token('hatch-wash'),
    groups: Object.fromEntries(LETTERS.map((letter) => [letter.toUpperCase(), token(`group-${letter}`)])),
    hatches: [1, 2, 3, 4, 5, 6].map((ink) => token(`hatch-${ink}`)),
    standing: {
      guess: token('standing-guess'),
      supported: token('standing-supported'),
      proven: token('standing-proven'),
    },
  };
}

/** 0 for "A", 25 for "Z", 26 for "AA". */
const placeOf = (group: string): number =>
  [...group].reduce((sum, letter) => sum * 26 + letter.charCodeAt(0) - 64, 0) - 1;

/** The hue belongs to the letter; above eight groups hues come again. */
const hueOf = (group: string): string => LETTERS[Math.max(0, placeOf(group)) % LETTERS.length] as string;

/** Whether another group has this hue already: then a dashed casing tells them apart. */
export const isHueRepeated = (group: string | null): boolean => group !== null && placeOf(group) >= LETTERS.length;

/** Without a group: ink. */
export const groupColor = (palette: Palette, group: string | null): string =>
  (group && palette.groups[hueOf(group).toUpperCase()]) || palette.ink2;

/** The same for styles; without a group what is given. */
export const groupStyle = (group: string | null, without: string): string =>
  group ? `var(--group-${hueOf(group)})` : without;

export function usePalette(): Palette {
  const [palette, setPalette] = useState(readPalette);
  useEffect(() => {
    const watch = new MutationObserver(() => setPalette(readPalette()));
    watch.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] });
    return () => watch.disconnect();
  }, []);
  return palette;
}
