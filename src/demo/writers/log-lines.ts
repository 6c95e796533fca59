/** A recording as log lines. */
import { logLinesWriter } from '../../frames/writers/log-lines.ts';
import type { Recording } from '../recording/logger.ts';
import { writtenBy } from './written.ts';

export const writeLogLines = (recording: Recording): Uint8Array<ArrayBuffer> => writtenBy(recording, logLinesWriter);
