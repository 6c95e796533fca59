/**
 * Where the person is looking: place, capture, span of time, cursor and what is held. Not saved with
 * the dossier; the part worth sharing stands in the address.
 */
import { create } from 'zustand';
import type { Placement } from '../../frames/bits.ts';
import type { StreamKey } from '../../frames/table.ts';
import type { PlaceName } from '../places/place.ts';

interface Selection {
  readonly stream: StreamKey | null;
  /** A field of `stream`, by its place. */
  readonly placement: Placement | null;
  readonly action: string | null;
  /** A mark, by its key in the dossier. */
  readonly mark: string | null;
  /** A named signal, by its name. */
  readonly signal: string | null;
}
export interface Span {
  readonly fromS: number;
  readonly toS: number;
}

/** "Does it hold?", "What is still weak?", or "Do we agree?" */
export const PROOF_QUESTIONS = ['holds', 'weak', 'agree'] as const;
export type ProofQuestion = (typeof PROOF_QUESTIONS)[number];

/** What Proof looks at instead of the capture that is open; null: the open one. */
export const lookedAtInProof = ({ proofAsks, against }: Pick<ViewState, 'proofAsks' | 'against'>): string | null =>
  proofAsks === 'holds' ? against : null;

export interface ViewState {
  readonly place: PlaceName;
  /** null: none open. */
  readonly captureId: string | null;
  /** Seconds on the capture's clock; null until first set. */
  readonly cursorS: number | null;
  readonly window: Span;
  /** All there is to see: the capture, or the marks where there is none. */
  readonly domain: Span;
  /** CSS pixels the time column is wide: how many columns to ask pictures for. */
  readonly timeWidth: number;
  readonly selection: Selection;
  readonly drawer: boolean;
  /** In Proof: the capture that the map is held against, and which of its questions is open. */
  readonly against: string | null;
  readonly proofAsks: ProofQuestion;
  go(place: PlaceName): void;
  openCapture(id: string | null): void;
  setCursor(atS: number | null): void;
  setWindow(fromS: number, toS: number): void;
  setDomain(fromS: number, toS: number): void;
  /** factor > 1 widens the span; `atS` stays where it is (default: the cursor if in view, else the middle). */
  zoom(factor: number, atS?: number): void;
  pan(byS: number): void;
  /** Moves the span, if need be, so that the instant is in it. */
  reveal(atS: number): void;
  all(): void;
  select(part: Partial<Selection>): void;
  setTimeWidth(pixels: number): void;
  setDrawer(open: boolean): void;
  holdAgainst(id: string | null): void;
  askProof(question: ProofQuestion): void;
  /** Another capture comes into view: each has a cursor and a span of its own. */
  lookAt(id: string | null): void;
}

/** What was in view of a capture before another was looked at. */
const before = new Map<string, Pick<ViewState, 'cursorS' | 'window' | 'domain'>>();
let lookedAt: string | null = null;

const SHORTEST_S = 0.002;
const NOTHING: Selection = { stream: null, placement: null, action: null, mark: null, signal: null };
const EMPTY: Span = { fromS: 0, toS: 60 };

/** The window moved and cut so that it lies in the domain. */
export function within(domain: Span, fromS: number, toS: number): Span {
  const whole = domain.toS - domain.fromS;
  const length = Math.min(Math.max(toS - fromS, SHORTEST_S), whole);
  const middle = (fromS + toS) / 2;
  const from = Math.min(Math.max(middle - length / 2, domain.fromS), domain.toS - length);
  return { fromS: from, toS: from + length };
}

export const isWhole = ({ window, domain }: Pick<ViewState, 'window' | 'domain'>): boolean =>
  window.fromS <= domain.fromS && window.toS >= domain.toS;

export const useView = create<ViewState>((set, get) => ({
  place: 'captures',
  captureId: null,
  cursorS: null,
  window: EMPTY,
  domain: EMPTY,
  timeWidth: 0,
  selection: NOTHING,
  drawer: false,
  against: null,
  proofAsks: 'holds',
  go: (place) => set({ place, drawer: false }),
  openCapture: (captureId) => {
    if (captureId === get().captureId) return;
    before.clear();
    lookedAt = null;
    const against = get().against === captureId ? null : get().against;
    const selection = { ...get().selection, mark: null };
    set({ captureId, against, cursorS: null, window: EMPTY, domain: EMPTY, selection });
  },
  setCursor: (atS) => {
    const { domain } = get();
    set({ cursorS: atS === null ? null : Math.min(Math.max(atS, domain.fromS), domain.toS) });
  },
  setWindow: (fromS, toS) => set({ window: within(get().domain, fromS, toS) }),
  setDomain: (fromS, toS) => {
    const domain = { fromS, toS: Math.max(toS, fromS + SHORTEST_S) };
    const { window } = get();
    // Someone who sees all of it goes on seeing all of it while it grows.
    set({ domain, window: isWhole(get()) ? domain : within(domain, window.fromS, window.toS) });
  },
  zoom: (factor, atS) => {
    const { window, cursorS } = get();
    const length = window.toS - window.fromS;
    const inView = cursorS !== null && cursorS >= window.fromS && cursorS <= window.toS;
    const anchor = atS ?? (inView ? cursorS : (window.fromS + window.toS) / 2);
    const scaled = Math.max(length * factor, SHORTEST_S) / length;
    get().setWindow(anchor - (anchor - window.fromS) * scaled, anchor + (window.toS - anchor) * scaled);
  },
  pan: (byS) => {
    const { window } = get();
    get().setWindow(window.fromS + byS, window.toS + byS);
  },
  reveal: (atS) => {
    const { window } = get();
    if (atS >= window.fromS && atS <= window.toS) return;
    const half = (window.toS - window.fromS) / 2;
    get().setWindow(atS - half, atS + half);
  },
  all: () => set({ window: get().domain }),
  select: (part) => set({ selection: { ...get().selection, ...part } }),
  setTimeWidth: (timeWidth) => set({ timeWidth: Math.round(timeWidth) }),
  setDrawer: (drawer) => set({ drawer }),
  holdAgainst: (against) => set({ against }),
  askProof: (proofAsks) => set({ proofAsks }),
  lookAt: (id) => {
    if (id === lookedAt) return;
    const { cursorS, window, domain } = get();
    if (lookedAt !== null) before.set(lookedAt, { cursorS, window, domain });
    const known = id === null ? undefined : before.get(id);
    if (known || lookedAt !== null) set(known ?? { cursorS: null, window: EMPTY, domain: EMPTY });
    lookedAt = id;
  },
}));
