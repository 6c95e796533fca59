/** The tokens as canvas can use them: read once from the page's styles, again only when the theme changes. */
import { useEffect, useState } from 'react';
import { HUES, type Palette } from '../../kit/drawing/palette.ts';

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
    groups: Object.fromEntries(HUES.map((letter) => [letter.toUpperCase(), token(`group-${letter}`)])),
    hatches: [1, 2, 3, 4, 5, 6].map((ink) => token(`hatch-${ink}`)),
    standing: {
      guess: token('standing-guess'),
      supported: token('standing-supported'),
      proven: token('standing-proven'),
    },
  };
}

export function usePalette(): Palette {
  const [palette, setPalette] = useState(readPalette);
  useEffect(() => {
    const watch = new MutationObserver(() => setPalette(readPalette()));
    watch.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] });
    return () => watch.disconnect();
  }, []);
  return palette;
}
