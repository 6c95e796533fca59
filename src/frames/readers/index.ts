/** All readers. Where two score the same, the earlier one is taken: the narrower shape first. */
import type { ReaderKind } from '../reading/reader.ts';
import { logLines } from './log-lines.ts';

export const READERS: readonly ReaderKind[] = [logLines];
