/** Paper or night: as the system says, unless the person has switched. The choice belongs to this machine, not to the dossier. */
import { create } from 'zustand';

export type ThemeChoice = 'system' | 'paper' | 'night';
const KEY = 'loomscribe.theme';
const dark = matchMedia('(prefers-color-scheme: dark)');

const stored = (): ThemeChoice => {
  const value = localStorage.getItem(KEY);
  return value === 'paper' || value === 'night' ? value : 'system';
};
const resolve = (choice: ThemeChoice): 'paper' | 'night' => {
  if (choice !== 'system') return choice;
  return dark.matches ? 'night' : 'paper';
};
function apply(choice: ThemeChoice): void {
  document.documentElement.dataset['theme'] = resolve(choice);
}

interface ThemeState {
  readonly choice: ThemeChoice;
  choose(choice: ThemeChoice): void;
}
export const useTheme = create<ThemeState>((set) => ({
  choice: stored(),
  choose: (choice) => {
    if (choice === 'system') localStorage.removeItem(KEY);
    else localStorage.setItem(KEY, choice);
    apply(choice);
    set({ choice });
  },
}));

export function startTheme(): void {
  apply(useTheme.getState().choice);
  dark.addEventListener('change', () => apply(useTheme.getState().choice));
}
