/** Holds a map against a capture, and writes what that proved. */
import type { FrameTable } from '../../frames/table.ts';
import { part } from '../../kit/control.ts';
import { parseMap } from '../../map/parse.ts';
import { printMap } from '../../map/print.ts';
import type { SignalMap } from '../../map/schema.ts';
import { proveMap } from '../../proof/hold/prove-map.ts';
import { withProof } from '../../proof/hold/proven-map.ts';
import { MADE_FROM_THIS, type ProofInput, type ProofReport, type ProofVerdict } from '../../proof/hold/types.ts';
import { carryMap } from '../../proof/merge/carry.ts';
import type { ReferenceFile } from '../../reference/types.ts';
import { CannotDo } from '../arguments.ts';
import { grouped } from '../text-table.ts';
import { openCapture, parseFile, type CaptureRequest, type TaskContext } from './context.ts';

export interface ProveRequest extends CaptureRequest, Pick<ProofInput, 'reference' | 'marks'> {
  readonly map: string;
  readonly busMap: Readonly<Record<string, string>>;
  /** The map wanted back: with what was proven, or carried to the vehicle of this capture. */
  readonly wants: 'proven' | 'carried' | null;
  /** What the capture is called in the map. */
  readonly title: string;
}

export interface ProveAnswer {
  readonly report: ProofReport;
  /** The map as its file reads, and what became of it. */
  readonly written: { readonly text: string; readonly words: string } | null;
}

const SAME_CAPTURE =
  'The map was made from this very recording: nothing is proven by it, and no map is written. Record another power cycle or drive.';

function proven(map: SignalMap, report: ProofReport, table: FrameTable, title: string): ProveAnswer['written'] {
  const proved = withProof(map, report, { title, files: table.files });
  if (!proved) throw new CannotDo(SAME_CAPTURE);
  const [some, open, refused] = [proved.proven, proved.scaleUntested, proved.refused].map(grouped);
  const words = `${some} signals became proven, ${open} held but for their scale, which no reference tested, ${refused} refused`;
  return { text: printMap(proved.map), words };
}

function carried(map: SignalMap, report: ProofReport, table: FrameTable, title: string): ProveAnswer['written'] {
  if (report.warnings.some(({ code }) => code === MADE_FROM_THIS)) throw new CannotDo(SAME_CAPTURE);
  const files = table.files.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 }));
  const { map: whole, changes } = carryMap(map, report, { id: 'c1', title, files });
  const count = (verdict: ProofVerdict): string => grouped(changes.filter((each) => each.verdict === verdict).length);
  const words = `carried to this vehicle: ${count('holds')} items hold there, ${count('fails')} fail and stay refused, ${count('not-exercised')} are guesses there`;
  return { text: printMap(whole), words };
}

const WRITERS = { proven, carried };

/** Quantities that no signal of the map is known to show: most often they are called otherwise there. */
function warnUnspoken({ references = [] }: ProofReport, { series }: ReferenceFile, context: TaskContext): void {
  const names = series.map(({ name }) => name);
  const unspoken = references.filter(
    ({ name, holds, fails, notExercised }) => names.includes(name) && holds + fails + notExercised === 0,
  );
  if (unspoken.length === 0) return;
  context.warn({
    code: 'no-signal-of-that-quantity',
    message: `no signal of the map was fitted to ${unspoken.map(({ name }) => name).join(', ')}, nor is called so: nothing is held against it.`,
    advice: 'Call the column as the map calls the quantity, in a unit of the same kind.',
  });
}

export async function proveTask(request: ProveRequest, context: TaskContext): Promise<ProveAnswer> {
  const map = await parseFile(request.map, parseMap, context);
  const table = await openCapture(request, context, part(context.control, 0, 0.5));
  const fileDigests = table.files.map((file) => file.sha256);
  const { busMap, reference, marks } = request;
  const report = await proveMap({ table, map, busMap, fileDigests, reference, marks }, part(context.control, 0.5, 1));
  report.warnings.forEach((warning) => context.warn(warning));
  if (reference) warnUnspoken(report, reference.file, context);
  return { report, written: request.wants && WRITERS[request.wants](map, report, table, request.title) };
}
