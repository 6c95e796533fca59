/** The files of the map as they stand now, made once for the place and its panel; those of before stay until the new ones are there. */
import { useEffect } from 'react';
import { create } from 'zustand';
import type { Handover, HandoverFile, HandoverOptions } from '../../../../handover/handover-files.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { previews } from './making.ts';

interface MadeState {
  readonly map: SignalMap | null;
  readonly options: HandoverOptions | null;
  readonly handover: Handover | null;
  /** Why there is none, for a person. */
  readonly problem: string | null;
}

const useStore = create<MadeState>(() => ({ map: null, options: null, handover: null, problem: null }));

/** How long nothing may change before files are made anew: a letter that is being typed is not worth them. */
const QUIET_MS = 150;

async function make(map: SignalMap, options: HandoverOptions): Promise<void> {
  try {
    const handover = await previews.ask({ map, options });
    if (handover) useStore.setState({ map, options, handover, problem: null });
  } catch (error) {
    useStore.setState({
      map,
      options,
      handover: null,
      problem: error instanceof Error ? error.message : String(error),
    });
  }
}

/** Keeps the files up with the map, while the component stands. Keep `options` stable (useMemo). */
export function useMaking(map: SignalMap | null, options: HandoverOptions): void {
  useEffect(() => {
    const made = useStore.getState();
    if (!map || (made.map === map && made.options === options)) return;
    const timer = setTimeout(() => void make(map, options), made.handover ? QUIET_MS : 0);
    return () => clearTimeout(timer);
  }, [map, options]);
}

export interface Made {
  readonly handover: Handover | null;
  readonly problem: string | null;
  /** From before the last change. */
  readonly outdated: boolean;
}

export function useMade(map: SignalMap | null, options: HandoverOptions): Made {
  const made = useStore();
  const isOfMap = made.map !== null && made.map === map && made.options === options;
  return { handover: made.handover, problem: isOfMap ? made.problem : null, outdated: !isOfMap };
}

export const filesOf = (handover: Handover | null, own: RegExp): readonly HandoverFile[] =>
  handover?.files.filter(({ name }) => own.test(name)) ?? [];

const texts = new WeakMap<HandoverFile, string>();
export function textIn(file: HandoverFile): string {
  const known = texts.get(file) ?? new TextDecoder().decode(file.bytes);
  texts.set(file, known);
  return known;
}
