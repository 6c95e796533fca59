/** A recording as pcapng. */
import { pcapngWriter } from '../../frames/writers/pcapng.ts';
import type { Recording } from '../recording/logger.ts';
import { writtenBy } from './written.ts';

export const writePcapng = (recording: Recording): Uint8Array<ArrayBuffer> => writtenBy(recording, pcapngWriter);
