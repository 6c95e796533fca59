/**
 * What was computed, by capture digest, job and options: kept in memory and in this browser, so that a
 * reload does not compute again. A finding that is out of date stays on the sheet, marked so, until the new one replaces it at once.
 */
import { create } from 'zustand';
import { Cancelled, type Control } from '../../kit/control.ts';
import { keepFinding, keptFinding } from './storage.ts';

export type FindingJob =
  | 'survey'
  | 'modes'
  | 'profile'
  | 'compare'
  | 'drift'
  | 'fields'
  | 'same'
  | 'link'
  | 'fit'
  | 'rest'
  | 'sequences'
  | 'diagnostics'
  | 'meaning'
  | 'prove'
  | 'suffices'
  | 'needs'
  | 'report-traces';

/** A digest of the sources that answer, set by the build: what older finders said is never taken for what these say. */
declare const FINDERS: string;

export interface Slot {
  readonly key: string;
  readonly state: 'running' | 'done' | 'failed' | 'stopped';
  readonly share: number;
  /** What is being done now, or why it failed, for a person. */
  readonly note: string;
  readonly value: unknown;
  readonly tookMs: number;
  readonly bytes: number;
  stop(): void;
}

interface FindingsState {
  readonly slots: Readonly<Record<string, Slot>>;
  set(slot: Slot): void;
  forget(key: string): void;
}
export const useFindings = create<FindingsState>((set, get) => ({
  slots: {},
  set: (slot) => set({ slots: { ...get().slots, [slot.key]: slot } }),
  forget: (key) => set({ slots: Object.fromEntries(Object.entries(get().slots).filter(([name]) => name !== key)) }),
}));

/** A short stable name for options of any shape (FNV-1a over their JSON, twice 32 bits). */
export function fingerprint(options: unknown): string {
  const text = JSON.stringify(options) ?? '';
  let low = 0x811c9dc5;
  let high = 0x01000193;
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    low = Math.imul(low ^ code, 0x01000193) >>> 0;
    high = Math.imul(high ^ (code + i), 0x85ebca6b) >>> 0;
  }
  return low.toString(16).padStart(8, '0') + high.toString(16).padStart(8, '0');
}

const fingerprints = new WeakMap<object, string>();
/** The fingerprint of something large that is never changed, worked out once. */
export function fingerprintOnce(value: object | null | undefined): string {
  if (!value) return '';
  const known = fingerprints.get(value) ?? fingerprint(value);
  fingerprints.set(value, known);
  return known;
}

export const findingKey = (digest: string, job: FindingJob, options: unknown): string =>
  `${digest}/${job}.${FINDERS}/${fingerprint(options)}`;

/** Starts the job unless its answer is there, on its way, or in storage. `run` is asked at most once a key. */
export function ensureFinding(key: string, run: (control: Control) => Promise<unknown>): void {
  const { slots, set } = useFindings.getState();
  if (slots[key]) return;
  const stopping = new AbortController();
  const stop = (): void => stopping.abort();
  const startedAt = performance.now();
  const base: Slot = { key, state: 'running', share: 0, note: '', value: null, tookMs: 0, bytes: 0, stop };
  set(base);
  const settle = (part: Partial<Slot>): void => {
    // What was stopped and forgotten stays forgotten.
    if (stopping.signal.aborted && useFindings.getState().slots[key]?.stop !== stop) return;
    useFindings.getState().set({ ...base, tookMs: performance.now() - startedAt, ...part });
  };
  void answer(key, run, stopping.signal, settle);
}

async function answer(
  key: string,
  run: (control: Control) => Promise<unknown>,
  signal: AbortSignal,
  settle: (part: Partial<Slot>) => void,
): Promise<void> {
  try {
    const kept = await keptFinding(key).catch(() => undefined);
    if (kept !== undefined) return settle({ state: 'done', share: 1, value: kept });
    const value = await run({ signal, onProgress: ({ share, note }) => settle({ share, note }) });
    const bytes = roughBytes(value);
    settle({ state: 'done', share: 1, value, bytes });
    await keepFinding(key, value, bytes).catch(() => undefined);
  } catch (error) {
    const stopped = signal.aborted || error instanceof Cancelled;
    settle({ state: stopped ? 'stopped' : 'failed', note: error instanceof Error ? error.message : String(error) });
  }
}

/** Bytes a value takes when stored, near enough to decide what gives way. */
function roughBytes(value: unknown): number {
  if (ArrayBuffer.isView(value)) return value.byteLength;
  if (Array.isArray(value)) return value.reduce((sum: number, item) => sum + roughBytes(item), 8);
  if (typeof value === 'string') return value.length + 8;
  if (value && typeof value === 'object')
    return Object.entries(value).reduce((sum, [name, item]) => sum + name.length + roughBytes(item), 8);
  return 8;
}
