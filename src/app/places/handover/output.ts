/** What an output of Handover is, as the place sees it. An output is a folder here whose index exports `output`. */
import type { ComponentType } from 'react';
import type { HandoverOptions } from '../../../handover/handover-files.ts';
import type { SignalMap } from '../../../map/schema.ts';

export type OutputName = 'map' | 'c' | 'keep-alive' | 'bench' | 'sending' | 'report' | 'publish';

export interface OutputProps {
  readonly map: SignalMap;
}

export interface OutputDefinition {
  readonly name: OutputName;
  readonly title: string;
  /** What is saved, on the button: "Save C source". */
  readonly saves: string;
  /** Which of the files made of the map are its own. */
  readonly files: RegExp;
  /** Helps to send: saved only after the cautions were read. */
  readonly sends: boolean;
  /** A hook: how it stands, in one line. */
  readonly useLine: (map: SignalMap) => string;
  /** The middle. */
  readonly Shown: ComponentType<OutputProps>;
  /** What the panel says of it, before what it says of every output. */
  readonly Panel?: ComponentType<OutputProps>;
  /** At the right end of the head. */
  readonly Controls?: ComponentType;
  /** Names of what it saves, where that is not its files as they were made. */
  readonly writes?: (map: SignalMap) => string;
  /** Saves in its own way; left out: its files as they were made. */
  readonly save?: (map: SignalMap, options: HandoverOptions) => Promise<void>;
}
