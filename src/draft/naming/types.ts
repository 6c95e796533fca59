/** What a field may mean, for a person to choose from: never applied by itself. */
import type { FieldPlace } from '../../fields/same-value/types.ts';

export interface NamingCandidate {
  /** "motor speed", "cell voltage": plain words. */
  readonly meaning: string;
  /** Usual unit of it; "" for states and flags. */
  readonly unit: string;
  /** Of fields with the same evidence, the share that mean this, as counted on simulated vehicles; of the first candidate only sure enough to rely on. */
  readonly share: number;
  readonly reasons: readonly string[];
}

export interface FieldNaming extends FieldPlace {
  /** Best first; empty where nothing fits. */
  readonly candidates: readonly NamingCandidate[];
  /** For a person: the first candidate with its reasons, or that nothing fits. */
  readonly why: string;
}

export interface NamingReport {
  readonly fields: readonly FieldNaming[];
}
