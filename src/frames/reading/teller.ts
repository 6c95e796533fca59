/** Tells how far reading is, paced by bytes because the core knows no clock. */
import type { FrameBuilder } from '../builder.ts';
import type { ReadingProgress } from '../reading-types.ts';
import type { FileReading } from './file-reading.ts';

const LEAST_STEP = 256 << 10;
const LARGEST_STEP = 8 << 20;

export class ProgressTeller {
  private toldAt = -Infinity;
  private readonly step: number;

  constructor(
    private readonly file: FileReading,
    private readonly builder: FrameBuilder,
    private readonly onReading: ((progress: ReadingProgress) => void) | undefined,
  ) {
    this.step = Math.min(LARGEST_STEP, Math.max(LEAST_STEP, file.source.size / 200));
  }

  tell(isLast: boolean): void {
    const bytesRead = this.file.bytesRead;
    if (!this.onReading || (!isLast && bytesRead - this.toldAt < this.step)) return;
    this.toldAt = bytesRead;
    this.onReading(this.progress(bytesRead));
  }

  /** Seconds here count from the first frame's stamp as read: repairs come after the last line. */
  private progress(bytesRead: number): ReadingProgress {
    const { source, recorder } = this.file;
    const { streams } = this.builder;
    const startUs = streams[0]?.slot.firstUs ?? 0;
    const seconds = (us: number): number => (us - startUs) / 1e6;
    return {
      file: source.name,
      bytesRead,
      bytesTotal: source.size,
      frames: this.builder.frameCount,
      rejected: recorder.ledger.rejected,
      reachedS: this.builder.frameCount === 0 ? 0 : seconds(recorder.lastUs),
      streams: streams.map(({ key, slot }) => ({
        ...key,
        count: slot.count,
        length: slot.lastLength,
        firstS: seconds(slot.firstUs),
        lastS: seconds(slot.lastUs),
      })),
    };
  }
}
