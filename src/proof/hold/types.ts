/** What holding a map against a capture says, in the shape that `prove --json` prints and the page draws. */
import type { FrameTable } from '../../frames/table.ts';
import type { Problem } from '../../kit/outcome.ts';
import type { MarkFile } from '../../actions/types.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { ReferenceFile } from '../../reference/types.ts';

export type ProofVerdict =
  | 'holds'
  | 'fails'
  /** The capture cannot test it: never counted as held. */
  | 'not-exercised';

type ProofItemKind = 'presence' | 'length' | 'timing' | 'counter' | 'checksum' | 'selector' | 'signal';

/**
 * What of a signal was held against the capture: where it lies and how it is coded, its range or states, its scale by a reference, the
 * physical laws that it is a member of, the actions that it answers.
 */
export type ProofAspectKind = 'place' | 'values' | 'scale' | 'law' | 'answer';

export interface ProofAspect {
  readonly aspect: ProofAspectKind;
  readonly verdict: ProofVerdict;
  /** For a person, with figures. */
  readonly detail: string;
  readonly figures: Readonly<Record<string, number>>;
  /** Seconds from the capture's origin at which it shows, at most 20; of scales, laws and answers. */
  readonly moments?: readonly number[];
}

export interface ProofItem {
  readonly item: ProofItemKind;
  /** Of the counter, selector or signal; the place of a checksum; else the frame's name. */
  readonly name: string;
  readonly verdict: ProofVerdict;
  /** Share of `n` that agreed, 0..1; null where nothing was tested. */
  readonly rate: number | null;
  /** What was tested: frames, pairs of frames or intervals, as `detail` says. */
  readonly n: number;
  /** For a person. */
  readonly detail: string;
  /** Seconds from the capture's origin of the first disagreements, at most 20. */
  readonly moments: readonly number[];
  /** Of a signal: the item fails where one of them does, and holds where its place does. */
  readonly aspects?: readonly ProofAspect[];
}

export interface ProofFrame {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly name: string;
  readonly verdict: ProofVerdict;
  readonly items: readonly ProofItem[];
}

/** What one quantity of a reference said of the signals that it speaks of: those fitted to it, or called so. */
export interface ProofReference {
  readonly name: string;
  readonly unit: string;
  readonly readings: number;
  /** Capture time = reference time + this, and how that came about, for a person. */
  readonly clockOffsetS: number;
  readonly clockWords: string;
  /** Signals. */
  readonly holds: number;
  readonly fails: number;
  readonly notExercised: number;
}

/** What the marks of one action said of the signals that answered it before. */
export interface ProofAnswers {
  readonly action: string;
  readonly marks: number;
  /** Signals. */
  readonly holds: number;
  readonly fails: number;
  readonly notExercised: number;
}

export interface ProofReport {
  readonly frames: readonly ProofFrame[];
  /** Map bus -> capture bus; null where the capture has none for it. */
  readonly buses: Readonly<Record<string, string | null>>;
  readonly warnings: readonly Problem[];
  /** Each quantity that was measured beside the capture or read by a tester in it; left out where there was none. */
  readonly references?: readonly ProofReference[];
  /** Each action that was marked; left out without marks. */
  readonly answers?: readonly ProofAnswers[];
}

export interface ProofInput {
  /** A capture that the map was not made from: another power cycle, another drive. */
  readonly table: FrameTable;
  readonly map: SignalMap;
  readonly busMap?: Readonly<Record<string, string>>;
  /** SHA-256 of the capture's files, to notice that the map was made from this very capture. */
  readonly fileDigests?: readonly string[];
  /** Measured beside this capture. Capture time = reference time + offset. */
  readonly reference?: { readonly file: ReferenceFile; readonly offset: 'auto' | number } | null;
  /** Made beside this capture. Capture time = mark time + offset. */
  readonly marks?: { readonly file: MarkFile; readonly offset: 'auto' | number } | null;
  readonly seed?: number;
}

/** Code of the warning that a map was made from the very capture that it is held against. */
export const MADE_FROM_THIS = 'map-made-from-this-capture';
