/**
 * What other captures proved, as a person took it into the dossier: for each signal what was told of it, under the very reading that was held.
 * A reading that has been changed since (place, coding, scale, states) has lost its proof.
 */
import { z } from 'zod';
import type { Dossier } from '../../jobs/dossier.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { Evidence, MapFrame, MapSignal, SignalMap } from '../../map/schema.ts';
import { withProof } from '../../proof/hold/proven-map.ts';
import type { ProofReport } from '../../proof/hold/types.ts';

const takenSignalSchema = z.looseObject({
  bus: z.string(),
  id: z.string(),
  extended: z.boolean(),
  reading: z.string(),
  /** "held": all but the scale, which nothing tested. */
  became: z.enum(['proven', 'held', 'refused']),
  told: z.looseObject({}),
});
const takenProofSchema = z.looseObject({
  /** The capture of the dossier that it was held against. */
  capture: z.looseObject({
    id: z.string(),
    title: z.string(),
    files: z.array(z.looseObject({ name: z.string(), bytes: z.number(), sha256: z.string() })),
  }),
  signals: z.array(takenSignalSchema),
});
type TakenSignal = z.infer<typeof takenSignalSchema>;
export type TakenProof = z.infer<typeof takenProofSchema>;

type FrameId = Pick<MapFrame, 'bus' | 'id' | 'extended'>;

/** How a signal is read: what a proof is about. Its name and its evidence are not. */
export const readingOf = (signal: MapSignal): string =>
  JSON.stringify([
    [signal.lsb.byte, signal.lsb.bit, signal.length, signal.order],
    (signal.continues ?? []).map(({ lsb, length, order }) => [lsb.byte, lsb.bit, length, order]),
    [signal.coding, signal.kind, signal.when],
    [signal.scale, signal.offset, signal.unit, signal.table],
    signal.states,
  ]);

const known = new WeakMap<object, readonly TakenProof[]>();
const NONE: readonly TakenProof[] = [];

export function takenProofs(dossier: Dossier): readonly TakenProof[] {
  const kept = dossier['proofs'];
  if (!Array.isArray(kept)) return NONE;
  const before = known.get(kept);
  if (before) return before;
  const read = kept.flatMap((one) => {
    const parsed = takenProofSchema.safeParse(one);
    return parsed.success ? [parsed.data] : [];
  });
  known.set(kept, read);
  return read;
}

/** In place of what the same capture told before. */
export const withTakenProof = (dossier: Dossier, proof: TakenProof): Dossier => ({
  ...dossier,
  proofs: [...takenProofs(dossier).filter(({ capture }) => capture.id !== proof.capture.id), proof],
});

const toldBeside = (signal: MapSignal): readonly unknown[] =>
  Array.isArray(signal['heldAgainst']) ? (signal['heldAgainst'] as unknown[]) : [];

function takenOf(frame: FrameId, before: MapSignal, after: MapSignal): TakenSignal[] {
  const { bus, id, extended } = frame;
  const key = { bus, id, extended, reading: readingOf(before) };
  if (after.evidence.length > before.evidence.length)
    return [{ ...key, became: 'proven', told: { ...after.evidence.at(-1) } }];
  if (toldBeside(after).length === toldBeside(before).length) return [];
  const told = toldBeside(after).at(-1) as Evidence;
  return [{ ...key, became: told['verdict'] === 'fails' ? 'refused' : 'held', told: { ...told } }];
}

/** What there is to take of a report; null where the map was made from that very capture. */
export function proofToTake(map: SignalMap, report: ProofReport, capture: TakenProof['capture']): TakenProof | null {
  const proved = withProof(map, report, capture);
  if (!proved) return null;
  const signals = map.frames.flatMap((frame, index) =>
    frame.signals.flatMap((signal, at) => {
      const after = proved.map.frames[index]?.signals[at];
      return after ? takenOf(frame, signal, after) : [];
    }),
  );
  const named = signals.map((one) => ({ ...one, told: { ...one.told, capture: capture.id, title: capture.title } }));
  return { capture, signals: named };
}

/** The signal with what was taken of its reading; one refused anywhere is not proven. */
export function withTaken(signal: MapSignal, frame: FrameId, proofs: readonly TakenProof[]): MapSignal {
  if (proofs.length === 0) return signal;
  const reading = readingOf(signal);
  const own = proofs.flatMap(({ signals }) =>
    signals.filter((one) => frameKey(one) === frameKey(frame) && one.reading === reading),
  );
  if (own.length === 0) return signal;
  const proved = own.filter(({ became }) => became === 'proven').map(({ told }) => told as Evidence);
  const beside = own.filter(({ became }) => became !== 'proven').map(({ told }) => told);
  const isRefused = own.some(({ became }) => became === 'refused');
  const trusted = isRefused && signal.standing === 'proven' ? 'supported' : signal.standing;
  return {
    ...signal,
    evidence: [...signal.evidence, ...proved],
    ...(beside.length > 0 ? { heldAgainst: [...toldBeside(signal), ...beside] } : {}),
    standing: proved.length > 0 && !isRefused ? 'proven' : trusted,
  };
}

/** Those that say something of a map made from these captures: what it was made from proves nothing of it. */
export const proofsFor = (proofs: readonly TakenProof[], madeFrom: readonly string[]): readonly TakenProof[] =>
  proofs.filter(({ capture }) => !madeFrom.includes(capture.id));

/** The map with all that was taken, and the captures that told it. */
export function mapWithTaken(map: SignalMap, taken: readonly TakenProof[]): SignalMap {
  const made = map.captures.map(({ id }) => id);
  const proofs = proofsFor(taken, made);
  if (proofs.length === 0) return map;
  const frames = map.frames.map((frame) => ({
    ...frame,
    signals: frame.signals.map((signal) => withTaken(signal, frame, proofs)),
  }));
  return { ...map, frames, captures: [...map.captures, ...proofs.map(({ capture }) => capture)] };
}
