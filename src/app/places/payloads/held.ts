/** What Payloads shows and holds now: the identifier, its bands, the band held, and the field being tried. */
import { useMemo } from 'react';
import type { FrameFindings } from '../../../fields/types.ts';
import type { Placement } from '../../../frames/bits.ts';
import type { StreamKey } from '../../../frames/table.ts';
import { streamName } from '../../../frames/table.ts';
import type { MapSignal } from '../../../map/schema.ts';
import type { Band } from '../../pictures/bands-model.ts';
import { bandsOf, fieldAt } from '../../pictures/bands-model.ts';
import { placementKey } from '../../pictures/bands-words.ts';
import { useFields } from '../../stores/asking.ts';
import { useCurrentCapture, type Finding } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { signalsOfFrame } from '../signals/dossier-signals.ts';
import { decisionsOf, frameKeyOf, type FrameKey } from './decisions.ts';
import { usePayloads } from './store.ts';
import { placementBetween } from './sweep.ts';

export interface Listed extends StreamKey {
  readonly count: number;
  readonly length: number;
}

/** The identifiers of the capture, also while it is being read. */
function useIdentifiers(): readonly Listed[] {
  const open = useCurrentCapture()?.open;
  return useMemo(() => {
    const streams = open?.summary?.streams ?? open?.progress?.streams ?? [];
    return [...streams].sort(
      (a, b) => a.bus.localeCompare(b.bus) || Number(a.extended) - Number(b.extended) || a.id - b.id,
    );
  }, [open]);
}

export const findingsFor = (
  fields: readonly FrameFindings[] | null,
  stream: StreamKey | null,
): FrameFindings | null => {
  if (!fields || !stream) return null;
  const frame = frameKeyOf(stream);
  return (
    fields.find(
      (candidate) =>
        candidate.bus === frame.bus &&
        candidate.id === frame.id &&
        candidate.extended === frame.extended &&
        candidate.direction === stream.direction,
    ) ?? null
  );
};

/** The identifier in view: the one held, else the busiest with more than a constant to show. */
function useShownStream(identifiers: readonly Listed[], fields: readonly FrameFindings[] | null): Listed | null {
  const held = useView(({ selection }) => selection.stream);
  return useMemo(() => {
    const name = held && streamName(held);
    const found = identifiers.find((stream) => streamName(stream) === name);
    if (found) return found;
    const moving = identifiers.filter(
      (stream) => stream.direction === 'received' && activityOf(findingsFor(fields, stream)) > 0,
    );
    const rank = (stream: Listed): number => activityOf(findingsFor(fields, stream)) * Math.log(1 + stream.count);
    return [...(moving.length ? moving : identifiers)].sort((a, b) => rank(b) - rank(a))[0] ?? null;
  }, [held, identifiers, fields]);
}

/** 0..1: how much of a payload moves, on a root scale so that slow ones are not lost. */
export function activityOf(findings: FrameFindings | null): number {
  if (!findings || findings.bits.changeShare.length === 0) return 0;
  const mean = findings.bits.changeShare.reduce((sum, share) => sum + share, 0) / findings.bits.changeShare.length;
  return Math.min(1, Math.sqrt(mean / 0.5));
}

export interface Held {
  readonly identifiers: readonly Listed[];
  readonly fields: Finding<readonly FrameFindings[]>;
  readonly stream: Listed | null;
  readonly frame: FrameKey | null;
  readonly findings: FrameFindings | null;
  readonly bands: readonly Band[];
  readonly band: Band | null;
  /** The field under the sweep, or the band's value with another order or coding; null: nothing is being tried. */
  readonly tried: MapSignal | null;
  /** What brackets stand round. */
  readonly placement: Placement | null;
  /** What is traced first and gets named. */
  readonly value: MapSignal | null;
}

const allBands = (bands: readonly Band[]): Band[] => bands.flatMap((band) => [band, ...band.pages]);

export function useHeld(): Held {
  const identifiers = useIdentifiers();
  const fields = useFields();
  const stream = useShownStream(identifiers, fields.value);
  const dossier = useDossier((state) => state.dossier);
  const findings = useMemo(() => findingsFor(fields.value, stream), [fields.value, stream]);
  const frame = useMemo(() => (stream ? frameKeyOf(stream) : null), [stream]);
  const bands = useMemo(
    () =>
      frame
        ? bandsOf({ findings, signals: signalsOfFrame(dossier, frame), decisions: decisionsOf(dossier, frame) })
        : [],
    [findings, frame, dossier],
  );
  const band = useHeldBand(bands);
  const tried = useTried();
  return useMemo(
    () => ({
      identifiers,
      fields,
      stream,
      frame,
      findings,
      bands,
      band: tried ? null : band,
      tried,
      placement: tried ?? band?.placement ?? null,
      value: tried ?? band?.value ?? null,
    }),
    [identifiers, fields, stream, frame, findings, bands, band, tried],
  );
}

function useHeldBand(bands: readonly Band[]): Band | null {
  const placement = useView(({ selection }) => selection.placement);
  const bandKey = usePayloads((state) => state.bandKey);
  return useMemo(() => {
    if (!placement) return null;
    const place = placementKey(placement);
    const fits = allBands(bands).filter((band) => placementKey(band.placement) === place);
    return fits.find(({ key }) => key === bandKey) ?? fits[0] ?? null;
  }, [bands, placement, bandKey]);
}

function useTried(): MapSignal | null {
  const sweep = usePayloads((state) => state.sweep);
  const order = usePayloads((state) => state.order);
  const coding = usePayloads((state) => state.coding);
  return useMemo(() => (sweep ? fieldAt(placementBetween(sweep, order), coding) : null), [sweep, order, coding]);
}

export function holdBand(band: Band): void {
  usePayloads.getState().set({ sweep: null, bandKey: band.key });
  useView.getState().select({ placement: band.placement, signal: band.signal?.name ?? null });
}

export function holdStream(stream: StreamKey): void {
  const { bus, id, extended, direction } = stream;
  usePayloads.getState().set({ sweep: null, bandKey: null, openByte: null, thread: -1 });
  useView.getState().select({ stream: { bus, id, extended, direction }, placement: null, signal: null });
}

export function letGo(): void {
  usePayloads.getState().set({ sweep: null, bandKey: null });
  useView.getState().select({ placement: null, signal: null });
}
