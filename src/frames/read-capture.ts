/**
 * Reads the files of one capture into a `FrameTable`: opens each (unpacking gzip), lets every reader
 * judge a sample, gives the file to the best, and repairs the clock at the end. Parsing is cut into
 * pieces of some milliseconds, between which progress is told and a wish to stop is heard.
 */
import { checkpoint, type Control } from '../kit/control.ts';
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { FrameBuilder } from './builder.ts';
import type { ReadingProgress, ReadOptions } from './reading-types.ts';
import { openBytes, SLICE_BYTES } from './reading/bytes.ts';
import { FileReading } from './reading/file-reading.ts';
import { makeOrigin } from './reading/origin.ts';
import type { TimeBase } from './reading/recorder.ts';
import { ProgressTeller } from './reading/teller.ts';
import type { CaptureInput } from './source.ts';
import type { FileReport, FrameTable } from './table.ts';

export async function readCapture(
  inputs: readonly CaptureInput[],
  options: ReadOptions,
  control: Control,
  onReading?: (progress: ReadingProgress) => void,
): Promise<Outcome<FrameTable>> {
  const run = new CaptureReading(inputs, options, control, onReading);
  return run.read();
}

class CaptureReading {
  private readonly builder = new FrameBuilder();
  private readonly base: TimeBase = { seconds: null };
  private readonly files: FileReading[] = [];
  private readonly problems: Problem[] = [];
  private readonly totalBytes: number;
  private bytesBefore = 0;

  constructor(
    private readonly inputs: readonly CaptureInput[],
    private readonly options: ReadOptions,
    private readonly control: Control,
    private readonly onReading: ((progress: ReadingProgress) => void) | undefined,
  ) {
    this.totalBytes = Math.max(
      1,
      inputs.reduce((sum, { source }) => sum + source.size, 0),
    );
  }

  async read(): Promise<Outcome<FrameTable>> {
    for (const [place, input] of this.inputs.entries()) await this.readFile(input, place);
    const [first, ...rest] = this.problems;
    if (first) return bad(first, ...rest);
    if (this.files.length === 0) {
      return bad({ code: 'no-files', message: 'No file was given.', advice: 'Give at least one recording.' });
    }
    const table = await this.finish();
    return good(
      table,
      table.files.flatMap(({ warnings }) => warnings),
    );
  }

  private async readFile(input: CaptureInput, place: number): Promise<void> {
    const { source } = input;

    const opened = await openBytes(source, this.options.sliceBytes ?? SLICE_BYTES, this.options.createDigest);
    const file = new FileReading(input, place, opened, this.builder, this.base, this.options);
    const teller = new ProgressTeller(file, this.builder, this.onReading);
    const problem = await file.begin(this.control);
    if (problem) {
      this.problems.push(problem);
      return;
    }
    for await (const _piece of file.consume()) {
      teller.tell(false);
      await this.breathe(opened.raw.bytesRead, `reading ${source.name}`);
    }
    teller.tell(true);
    const nothing = file.end();
    if (nothing) this.problems.push(nothing);
    else this.files.push(file);
    this.bytesBefore += source.size;
  }

  private breathe(bytesRead: number, note: string): Promise<void> {
    const share = Math.min(1, (this.bytesBefore + bytesRead) / this.totalBytes);
    return checkpoint(this.control, 0.95 * share, note);
  }

  private async finish(): Promise<FrameTable> {
    this.files.forEach((file, place) => file.repairClock(this.files.slice(0, place)));
    const recorders = this.files.map(({ recorder }) => recorder);
    const reports = (firstUs: number): FileReport[] => this.files.map((file) => file.report(firstUs));
    const steps = this.builder.finishSteps({
      files: reports,
      origin: (firstUs) => makeOrigin(firstUs, this.base, recorders),
    });
    for (;;) {
      const step = steps.next();
      if (step.done) return step.value;
      await checkpoint(this.control, 0.95 + 0.05 * step.value, 'sorting frames');
    }
  }
}
