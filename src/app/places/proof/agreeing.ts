/** Two maps merged, once for the place and its panel alike: as they stand, and by what was chosen. */
import { useMemo } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { mergeMaps } from '../../../proof/merge/merge-maps.ts';
import type { Merged } from '../../../proof/merge/types.ts';
import { fileStem, saveAs } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { useDossier } from '../../stores/dossier.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { textOf } from '../handover/making/map-text.ts';
import { conflictsOf, mergedBy, usualChoice, type Choice, type Choices, type Conflict } from './agree.ts';
import { takeMerged } from './agree-take.ts';
import { useProof } from './store.ts';

export interface Agreeing {
  readonly mine: SignalMap;
  readonly base: Merged;
  readonly final: Merged;
  readonly conflicts: readonly Conflict[];
  readonly choices: Choices;
}

let last: { readonly mine: SignalMap; readonly theirs: SignalMap; readonly base: Merged } | null = null;
function baseOf(mine: SignalMap, theirs: SignalMap): Merged {
  if (last?.mine !== mine || last.theirs !== theirs) last = { mine, theirs, base: mergeMaps(mine, theirs) };
  return last.base;
}

let lastFinal: { readonly base: Merged; readonly choices: Choices; readonly final: Merged } | null = null;
function finalOf(mine: SignalMap, theirs: SignalMap, base: Merged, choices: Choices): Merged {
  if (lastFinal?.base !== base || lastFinal.choices !== choices)
    lastFinal = { base, choices, final: mergedBy(mine, theirs, base, choices) };
  return lastFinal.final;
}

/** null as long as one of the two is missing. */
export function useAgreeing(): Agreeing | null {
  const mine = useProof(({ made }) => made.whole);
  const other = useProof((state) => state.other);
  const choices = useProof((state) => state.choices);
  return useMemo(() => {
    if (!mine || !other) return null;
    const base = baseOf(mine, other.map);
    const final = finalOf(mine, other.map, base, choices);
    return { mine, base, final, conflicts: conflictsOf(base), choices };
  }, [mine, other, choices]);
}

export const choiceOf = (conflict: Conflict, choices: Choices): Choice =>
  choices[conflict.key] ?? usualChoice(conflict);

export function choose(conflict: Conflict, choice: Choice): void {
  const { choices, set } = useProof.getState();
  if (!conflict.section) return say('Both stand in the merged map: there is nothing to choose here.');
  if (choice === 'open' && usualChoice(conflict) !== 'open')
    return say('Standing decides this one: choose one of the two.');
  set({ choices: { ...choices, [conflict.key]: choice }, conflict: conflict.key });
}

export function takeAgreed({ mine, base, final, choices }: Agreeing, name: string): void {
  const { dossier, change } = useDossier.getState();
  const taken = takeMerged(dossier, mine, base, final, choices);
  const { signals, names, rules, elsewhere } = taken;
  if (signals + names + rules === 0) return say('There is nothing in it that the dossier lacks.');
  change(`take what ${name} says`, () => taken.dossier);
  const beside =
    elsewhere > 0
      ? ` ${plural(elsewhere, 'identifier')} of theirs ${elsewhere === 1 ? 'is' : 'are'} not in your recording: save the merged map to keep them.`
      : '';
  say(
    `Taken: ${plural(signals, 'signal')}, ${plural(names, 'frame name')}, ${plural(rules, 'rule')}. Ctrl Z takes it back.${beside}`,
  );
}

export function saveMerged({ final }: Agreeing): void {
  const at = new Date().toISOString().replace(/\.\d+Z$/, 'Z');
  const text = textOf(final.map, at);
  if (!text.ok) return say('The merged map was not saved: it does not hold to its schema.');
  const file = `${fileStem(final.map.part.title, 'donor-part')}-merged.signal-map.json`;
  saveAs(file, text.value, 'application/json');
  say(`${file} saved: both maps as one, with what is not in force set aside in it.`);
}
