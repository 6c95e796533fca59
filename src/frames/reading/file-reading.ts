/** One file on its way into the table: opened, judged, consumed, its clock repaired, its account given. */
import type { Control } from '../../kit/control.ts';
import type { Outcome, Problem } from '../../kit/outcome.ts';
import { parsePlan, type PartialPlan } from '../columns/plan.ts';
import type { FrameBuilder } from '../builder.ts';
import { walkSteps } from '../pictures/steps.ts';
import type { ReadOptions } from '../reading-types.ts';
import { chooseReader, type Choice } from './choose.ts';
import { ClockRepair, type RawEvent } from './clock-repair.ts';
import { joinFiles } from './join-files.ts';
import type { OpenedBytes } from './bytes.ts';
import { joined } from './joined.ts';
import { warnOfOtherKind } from './other-kind.ts';
import { refuseByHead } from './refuse.ts';
import type { Consumer } from './reader.ts';
import { Recorder, type TimeBase } from './recorder.ts';
import { HEAD_BYTES, takeSample } from './sample.ts';
import { parseZone } from './stamps.ts';
import { asUtf8 } from './utf16.ts';
import type { ByteSource, CaptureInput } from '../source.ts';
import type { FileReport } from '../table.ts';

export class FileReading {
  readonly source: ByteSource;
  readonly recorder: Recorder;
  private readonly held: Uint8Array[] = [];
  private choice: Choice | null = null;
  private consumer: Consumer | null = null;
  private readonly events: RawEvent[] = [];
  private readonly warnings: Problem[] = [];

  constructor(
    input: CaptureInput,
    place: number,
    private readonly opened: OpenedBytes,
    private readonly builder: FrameBuilder,
    private readonly base: TimeBase,
    private readonly options: ReadOptions,
  ) {
    this.source = input.source;
    this.recorder = new Recorder(builder, base, input.bus ?? `bus${place + 1}`);
  }

  get bytesRead(): number {
    return this.opened.raw.bytesRead;
  }

  /** Chooses the reader. Returns the problem where nothing in the file can be a frame. */
  async begin(control: Control): Promise<Problem | null> {
    const isWhole = await this.holdHead();
    const head = joined(this.held);
    const refusal = this.unpackingFailed(head.length) ?? refuseByHead(head, this.source.name);
    if (refusal) return refusal;
    const { sample, encoding } = await takeSample(this.source, head, isWhole, this.opened.isPacked);
    const columns = this.givenColumns();
    if (columns && !columns.ok) return { ...columns.problems[0], place: { file: this.source.name } };
    const zoneS = parseZone(this.options.zone ?? 'UTC');
    if (zoneS === null) return badZone(this.options.zone ?? '');
    const chosen = await walkSteps(chooseReader(sample, { columns: columns?.value ?? null, zoneS }), control);
    if ('problem' in chosen) return this.unpackingFailed(0) ?? chosen.problem;
    this.choice = chosen;
    const consumer = chosen.open(this.recorder);
    this.consumer = chosen.reader.isText ? asUtf8(consumer, encoding) : consumer;
    this.warnings.push(...(chosen.judgement.warnings ?? []));
    return null;
  }

  /** A cut-off gzip file of which nothing useful could be unpacked. */
  private unpackingFailed(usefulBytes: number): Problem | null {
    const { words } = this.opened.damage;
    if (!words || usefulBytes > 0) return null;
    return {
      code: 'gzip-damaged',
      message: 'The gzip data is damaged or cut off so early that nothing useful could be unpacked.',
      advice: 'Copy the file again from where it was recorded.',
      place: { file: this.source.name },
    };
  }

  private givenColumns(): Outcome<PartialPlan> | null {
    const text = this.options.columns?.[this.source.name] ?? this.options.columns?.['*'];
    return text === undefined || text.trim() === '' ? null : parsePlan(text);
  }

  /** Feeds the file to its reader; yields after every piece. */
  async *consume(): AsyncGenerator<void> {
    const consumer = this.consumer as Consumer;
    for (const piece of this.held.splice(0)) {
      consumer.push(piece);
      yield;
    }
    for await (const piece of this.opened.pieces) {
      consumer.push(piece);
      yield;
    }
    consumer.finish();
    this.recorder.endArrival = this.builder.nextArrival;
  }

  /** After the last piece. Returns the problem where no line became a frame after all. */
  end(): Problem | null {
    const { words } = this.opened.damage;
    if (words) this.warnings.push({ code: 'gzip-damaged', message: words, place: { file: this.source.name } });
    const { ledger, warnings } = this.recorder;
    this.warnings.push(...warnings.map((warning) => ({ ...warning, place: { file: this.source.name } })));
    const otherKind = warnOfOtherKind(ledger, this.choice as Choice, this.source.name);
    if (ledger.accepted > 0) {
      if (otherKind) this.warnings.push(otherKind);
      return null;
    }
    const [first] = ledger.rejects;
    return {
      code: 'no-frames',
      message: first
        ? `None of ${ledger.lines} lines or records became a frame; the first was refused because: ${first.reason}.`
        : 'The file holds no frame.',
      advice: 'Check that this is a recording of raw frames; for a table, say which column is what.',
      place: { file: this.source.name, ...(first ? { line: first.line } : {}) },
    };
  }

  /** Mends what is wrong within the file; `beforeIt` are the files of the capture already mended. */
  repairClock(beforeIt: readonly FileReading[]): void {
    const { recorder, builder, base } = this;
    if (!recorder.stamped) return;
    const repair = new ClockRepair(builder, recorder.firstArrival, recorder.endArrival, base.seconds ?? 0);
    recorder.watch.runsByBus().forEach((runs, bus) => runs && repair.repairBus(bus, runs));
    this.events.push(...repair.events.sort((a, b) => a.line - b.line));
    const joint = joinFiles(
      beforeIt.map(({ recorder: each }) => each),
      recorder,
      builder,
      base.seconds ?? 0,
    );
    this.events.push(...joint.events);
    this.warnings.push(...joint.warnings.map((warning) => ({ ...warning, place: { file: this.source.name } })));
  }

  report(firstUs: number): FileReport {
    const { ledger, watch } = this.recorder;
    const { reader, judgement } = this.choice as Choice;
    return {
      name: this.source.name,
      buses: watch.busNames(),
      bytes: this.bytesRead,
      sha256: this.opened.raw.sha256(),
      reader: reader.name,
      why: judgement.words,
      lines: ledger.lines,
      accepted: ledger.accepted,
      rejected: ledger.rejected,
      passedOver: ledger.passedOver,
      rejects: ledger.rejects,
      rejectReasons: ledger.rejectReasons(),
      outOfOrder: watch.outOfOrder,
      clockEvents: this.events.map(({ atUs, ...event }) => ({
        ...event,
        file: this.source.name,
        atS: (atUs - firstUs) / 1e6,
      })),
      columns: judgement.columns ?? null,
      warnings: this.warnings,
    };
  }

  private async holdHead(): Promise<boolean> {
    let bytes = 0;
    while (bytes < HEAD_BYTES) {
      const { done, value } = await this.opened.pieces.next();
      if (done) return true;
      this.held.push(value);
      bytes += value.length;
    }
    return false;
  }
}

function badZone(zone: string): Problem {
  return { code: 'bad-zone', message: `"${zone}" is no zone.`, advice: 'Write UTC or an offset such as +02:00.' };
}
