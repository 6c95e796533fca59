/** Cautions before something is sent or given to a controller, and the phrase that says that they were read. */
import { wrapped } from './text-table.ts';

export const cautionLines = (cautions: readonly string[]): string[] =>
  cautions.map((line) => wrapped(`caution: ${line}`, 100, '  '));

export const toConfirm = (phrase: string): string =>
  `Nothing was written. Read the cautions; if you mean it, say it: --confirm "${phrase}"`;
