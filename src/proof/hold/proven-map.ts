/**
 * A map with what a capture proved of it written in. A signal's standing becomes `proven` only where its span, order and coding held,
 * over a good part of its range and all its states; where it has a unit, only where a reference held its scale. One that failed is
 * no longer proven. What may be sent is not touched: only a bench trial on record says that.
 */
import type { FileReport } from '../../frames/table.ts';
import type { Evidence, MapFrame, MapSignal, SignalMap } from '../../map/schema.ts';
import { frameKey } from '../../map/identifiers.ts';
import { refusedFrames, withRefused } from '../../map/refused.ts';
import * as limit from './thresholds.ts';
import { MADE_FROM_THIS, type ProofAspectKind, type ProofItem, type ProofReport } from './types.ts';

/** The capture as the map lists it. */
export interface ProofCapture {
  readonly title: string;
  readonly files: readonly Pick<FileReport, 'name' | 'bytes' | 'sha256'>[];
}

export interface ProvenMap {
  readonly map: SignalMap;
  /** Signals that became proven, and those that held but for their scale, which nothing tested. */
  readonly proven: number;
  readonly scaleUntested: number;
  readonly refused: number;
}

const aspectOf = ({ aspects }: ProofItem, kind: ProofAspectKind) => aspects?.find(({ aspect }) => aspect === kind);

/** Whether the reading itself held: enough moves, over half of the range seen before, every state named. */
function readingHeld(signal: MapSignal, item: ProofItem): boolean {
  const [place, values] = [aspectOf(item, 'place'), aspectOf(item, 'values')];
  if (item.verdict !== 'holds' || place?.verdict !== 'holds') return false;
  if ((place.figures['changes'] ?? 0) < limit.CHANGES_NEEDED) return false;
  if (signal.kind !== 'number') return values === undefined || values.verdict === 'holds';
  return values?.verdict === 'holds' && (values.figures['covered'] ?? 0) >= limit.COVERED_TO_PROVE;
}

/** Why a number with a unit is not proven. */
const NO_REFERENCE = 'no reference of this capture measured the same quantity';
const needsScale = ({ kind, unit }: MapSignal): boolean => kind === 'number' && unit !== '';

/** Evidence of the kind "proof" says that the whole decoding is proven, so only that gets it; what held or failed apart is told beside it. */
function withTold(signal: MapSignal, told: Evidence): MapSignal {
  const { kind: _kind, ...rest } = told;
  const before = Array.isArray(signal['heldAgainst']) ? (signal['heldAgainst'] as unknown[]) : [];
  return { ...signal, heldAgainst: [...before, rest] };
}

function evidenceOf(item: ProofItem, capture: string): Evidence {
  const figures = Object.assign({}, ...(item.aspects ?? []).map((aspect) => aspect.figures)) as Record<string, number>;
  const held = (item.aspects ?? []).filter(({ verdict }) => verdict === 'holds').map(({ aspect }) => aspect);
  return { kind: 'proof', capture, verdict: item.verdict, n: item.n, held, ...figures };
}

function freeId({ captures }: SignalMap): string {
  const taken = new Set(captures.map(({ id }) => id));
  let number = captures.length + 1;
  while (taken.has(`c${number}`)) number++;
  return `c${number}`;
}

function proveSignal(signal: MapSignal, item: ProofItem | undefined, capture: string): MapSignal {
  if (item?.verdict === 'fails') {
    const standing = signal.standing === 'proven' ? 'supported' : signal.standing;
    return { ...withTold(signal, evidenceOf(item, capture)), standing };
  }
  if (!item || !readingHeld(signal, item)) return signal;
  const scale = aspectOf(item, 'scale');
  const told = evidenceOf(item, capture);
  if (!needsScale(signal) || scale?.verdict === 'holds')
    return { ...signal, evidence: [...signal.evidence, told], standing: 'proven' };
  return withTold(signal, { ...told, scaleUntested: scale?.detail ?? NO_REFERENCE });
}

/** Null where the map was made from this very capture: that it fits there proves nothing. */
export function withProof(map: SignalMap, report: ProofReport, { title, files }: ProofCapture): ProvenMap | null {
  if (report.warnings.some(({ code }) => code === MADE_FROM_THIS)) return null;
  const id = freeId(map);
  const proofs = new Map(report.frames.map((frame) => [frameKey(frame), frame.items]));
  const count = { proven: 0, scaleUntested: 0, refused: 0 };
  const frames = map.frames.map((frame): MapFrame => {
    const items = proofs.get(frameKey(frame)) ?? [];
    const signals = frame.signals.map((signal) => {
      const own = items.find(({ item, name }) => item === 'signal' && name === signal.name);
      const proved = proveSignal(signal, own, id);
      if (proved === signal) return signal;
      if (own?.verdict === 'fails') count.refused++;
      else if (proved.standing !== 'proven') count.scaleUntested++;
      else if (signal.standing !== 'proven') count.proven++;
      return proved;
    });
    return { ...frame, signals };
  });
  const listed = files.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 }));
  const proved = { ...map, frames, captures: [...map.captures, { id, title, files: listed }] };
  return { map: withRefused(proved, refusedFrames(map)), ...count };
}
