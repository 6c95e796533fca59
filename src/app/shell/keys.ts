/**
 * Keys: every place says which keys it hears and what they do, so that one list can show them all. Keys are
 * not heard while someone is typing, nor when a picture that has focus has already used them.
 */
import { useEffect, useSyncExternalStore } from 'react';

interface KeyBinding {
  /** As `keyName` writes it: "m", "?", "ArrowLeft", "Shift+ArrowLeft", "Ctrl+z". */
  readonly key: string;
  /** What it does, for the list: "mark at the cursor". Empty: not listed (a second key for the same). */
  readonly says: string;
  readonly run: (event: KeyboardEvent) => void;
}
export interface KeyGroup {
  readonly title: string;
  readonly bindings: readonly KeyBinding[];
}

let groups: readonly KeyGroup[] = [];
const listeners = new Set<() => void>();
const change = (next: readonly KeyGroup[]): void => {
  groups = next;
  listeners.forEach((listener) => listener());
};

function keyName(event: KeyboardEvent): string {
  const control = event.ctrlKey || event.metaKey ? 'Ctrl+' : '';
  const alt = event.altKey ? 'Alt+' : '';
  const named = event.key.length > 1;
  const shift = event.shiftKey && (named || control) ? 'Shift+' : '';
  return control + alt + shift + (named ? event.key : event.key.toLowerCase());
}

/** As a person reads it on a key: "Ctrl Shift Z", "←". */
export function printKey(key: string): string {
  const arrows: Record<string, string> = {
    ArrowLeft: '←',
    ArrowRight: '→',
    ArrowUp: '↑',
    ArrowDown: '↓',
    ' ': 'Space',
    Escape: 'Esc',
  };
  return key
    .split(/(?<=.)\+/)
    .map((part) => arrows[part] ?? (part.length === 1 ? part.toUpperCase() : part))
    .join(' ');
}

const TEXT_INPUTS =
  'input:not([type=checkbox]):not([type=radio]):not([type=range]), textarea, select, [contenteditable=true]';
const isTyping = (target: EventTarget | null): boolean => target instanceof HTMLElement && target.matches(TEXT_INPUTS);

function hear(event: KeyboardEvent): void {
  if (event.defaultPrevented || isTyping(event.target)) return;
  if (document.querySelector('dialog[open]') && event.key !== '?') return;
  const name = keyName(event);
  // Enter and Space belong to the button that has focus.
  if (
    (name === 'Enter' || name === ' ') &&
    event.target instanceof HTMLElement &&
    event.target.closest('button, a, summary, [role=button]')
  )
    return;
  for (const { bindings } of [...groups].reverse()) {
    const binding = bindings.find(({ key }) => key === name);
    if (!binding) continue;
    event.preventDefault();
    binding.run(event);
    return;
  }
}

/** Hears keys while the component stands. Keep `group` stable (useMemo). */
export function useKeys(group: KeyGroup): void {
  useEffect(() => {
    change([...groups, group]);
    return () => change(groups.filter((other) => other !== group));
  }, [group]);
}

export const useKeyGroups = (): readonly KeyGroup[] =>
  useSyncExternalStore(
    (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    () => groups,
  );

export function startKeys(): void {
  window.addEventListener('keydown', hear);
}
