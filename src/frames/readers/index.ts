/** All readers. Where two score the same, the earlier one is taken: the narrower shape first. */
import type { ReaderKind } from '../reading/reader.ts';
import { csv } from './csv.ts';
import { logLines } from './log-lines.ts';
import { pcap } from './pcap.ts';
import { pcapng } from './pcapng.ts';
import { screenLines } from './screen-lines.ts';
import { spaceTable } from './space-table.ts';

export const READERS: readonly ReaderKind[] = [pcap, pcapng, logLines, screenLines, csv, spaceTable];
