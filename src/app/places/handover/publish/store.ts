/**
 * The publishing copy as it is being put together. Held in memory and nowhere else: what is found and what is typed are the very numbers that are not to
 * get out, so none of it goes into the dossier or the browser's storage.
 */
import { create } from 'zustand';
import type { PublishAnswer } from '../../../../jobs/analyses/publish.ts';
import type { SignalMap } from '../../../../map/schema.ts';

/** What was searched: another map, capture or list of typed numbers is another search. */
export interface Searched {
  readonly map: SignalMap;
  readonly digest: string;
  readonly typed: readonly string[];
}

interface Running {
  readonly what: 'search' | 'copy';
  readonly share: number;
  stop(): void;
}

interface PublishState {
  readonly typed: readonly string[];
  /** By key: finds to leave as they are, and finds that are only offered to be blanked all the same. */
  readonly keep: readonly string[];
  readonly also: readonly string[];
  readonly hidesTimes: boolean;
  readonly log: 'log' | 'pcapng';
  readonly running: Running | null;
  readonly searched: Searched | null;
  readonly answer: PublishAnswer | null;
  /** Why there is no answer, or no copy, for a person. */
  readonly problem: string | null;
  /** Key of the find whose number is shown. */
  readonly shown: string | null;
  set(part: Partial<Omit<PublishState, 'set'>>): void;
}

export const usePublish = create<PublishState>((set) => ({
  typed: [],
  keep: [],
  also: [],
  hidesTimes: true,
  log: 'log',
  running: null,
  searched: null,
  answer: null,
  problem: null,
  shown: null,
  set,
}));
