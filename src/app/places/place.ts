/** What a place of the workbench is, as the shell sees it. A place is a folder here whose index exports `place`. */
import type { ComponentType } from 'react';
import type { ViewState } from '../stores/view.ts';

export type PlaceName = 'captures' | 'marks' | 'senders' | 'payloads' | 'signals' | 'proof' | 'handover';

export interface PlaceDefinition {
  readonly name: PlaceName;
  readonly title: string;
  /** The question the place answers, as the person asks it. */
  readonly question: string;
  /** Whether the time ruler runs along its foot. */
  readonly showsTime: boolean;
  /** The capture it looks at, ruler included, where that is not the one that is open; null: the open one. */
  readonly looksAt?: (view: ViewState) => string | null;
  /** Gutter and time column: build it from TimeSheet, Row and Picture. */
  readonly Place: ComponentType;
  /** Evidence and words, right of it; becomes a drawer on narrow windows. */
  readonly Panel?: ComponentType;
  /** Legend and buttons at the right end of the head. */
  readonly Controls?: ComponentType;
  /** A hook: its state in a few words for the rail, "41 identifiers, 6 senders". */
  readonly useLine: () => string;
}
