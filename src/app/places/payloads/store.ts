/** What is held in Payloads beside the shared selection: the sweep, the coding tried, traces kept, what darkness tells. */
import { create } from 'zustand';
import type { ByteOrder, Coding } from '../../../frames/bits.ts';
import type { StreamKey } from '../../../frames/table.ts';
import type { MapSignal } from '../../../map/schema.ts';
import type { Sweep } from './sweep.ts';

/** A field's trace that stays under the weave while others are looked at. */
interface KeptTrace {
  readonly key: string;
  readonly stream: StreamKey;
  readonly value: MapSignal;
  readonly label: string;
}

const KEPT_MOST = 3;

interface PayloadsState {
  readonly shows: 'set' | 'changed';
  readonly filter: string;
  /** The byte opened while a long payload is folded. */
  readonly openByte: number | null;
  /** The thread the keyboard is on: byte * 8 + bit; -1 before the first key. */
  readonly thread: number;
  readonly sweep: Sweep | null;
  readonly order: ByteOrder;
  readonly coding: Coding;
  /** The band held, by its key: pages share their place, so the place alone does not tell. */
  readonly bandKey: string | null;
  readonly kept: readonly KeptTrace[];
  /** Whose responders are listed; null: the first action. */
  readonly action: string | null;
  readonly naming: boolean;
  /** The field laid over the one held, by its key; null: none. */
  readonly overlaid: string | null;
  set(part: Partial<Omit<PayloadsState, 'set' | 'keep' | 'letGo'>>): void;
  keep(trace: KeptTrace): void;
  letGo(key: string): void;
}

export const usePayloads = create<PayloadsState>((set, get) => ({
  shows: 'set',
  filter: '',
  openByte: null,
  thread: -1,
  sweep: null,
  order: 'big',
  coding: 'unsigned',
  bandKey: null,
  kept: [],
  action: null,
  naming: false,
  overlaid: null,
  set,
  keep: (trace) => {
    const others = get().kept.filter(({ key }) => key !== trace.key);
    set({ kept: [...others, trace].slice(-KEPT_MOST) });
  },
  letGo: (key) => set({ kept: get().kept.filter((trace) => trace.key !== key) }),
}));
