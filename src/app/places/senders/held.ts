/** The loom of the open capture, and the strand that is held in it. */
import { useMemo } from 'react';
import { streamName, type StreamKey } from '../../../frames/table.ts';
import { settleSenders } from '../../../timing/senders/settle-senders.ts';
import type { Survey } from '../../../timing/types.ts';
import { loomOf, strandsOf, type GivenName, type Loom, type NameOf, type Strand } from '../../../timing/loom/model.ts';
import type { GroupOf } from '../../../timing/senders/drift-picture.ts';
import { useFoundSurvey, useSurvey } from '../../stores/asking.ts';
import { type Finding } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { sameFrame } from '../payloads/decisions.ts';
import { useSenders } from './store.ts';

export interface HeldLoom {
  readonly finding: Finding<Survey>;
  readonly survey: Survey | null;
  readonly loom: Loom | null;
  readonly strands: readonly Strand[];
  /** The strand that is held, or that the pointer is over. */
  readonly strand: Strand | null;
  /** Moves by hand that concern this capture. */
  readonly moves: number;
}

const NAMES_SHOWN = 2;

/** A person's name for the identifier; else what was named in it, as a guess at what it is about. */
function useNameOf(): NameOf {
  const frameNames = useDossier(({ dossier }) => dossier.frameNames);
  const signals = useDossier(({ dossier }) => dossier.signals);
  return useMemo(
    () =>
      (frame): GivenName => {
        const own = frameNames.find((entry) => sameFrame(entry, frame));
        if (own) return { name: own.name.replaceAll('_', ' '), named: true };
        const names = signals
          .filter((entry) => sameFrame(entry, frame))
          .map(({ signal }) => signal.name.replaceAll('_', ' '));
        const more = names.length > NAMES_SHOWN ? ` +${names.length - NAMES_SHOWN}` : '';
        return { name: names.slice(0, NAMES_SHOWN).join(', ') + more, named: false };
      },
    [frameNames, signals],
  );
}

/** The survey as this place shows it: with the moves, or as timing alone says. */
function useShownSurvey(): Finding<Survey> {
  const decided = useSurvey();
  const found = useFoundSurvey().value;
  const senders = useDossier(({ dossier }) => dossier.senders);
  const shows = useSenders((state) => state.shows);
  const byTiming = useMemo(() => found && settleSenders(found, { senders, senderMoves: [] }), [found, senders]);
  return shows === 'timing' ? { ...decided, value: byTiming } : decided;
}

export function useLoom(): HeldLoom {
  const finding = useShownSurvey();
  const decided = useSurvey().value;
  const survey = finding.value;
  const nameOf = useNameOf();
  const loom = useMemo(() => survey && loomOf(survey, nameOf), [survey, nameOf]);
  const strands = useMemo(() => (loom ? strandsOf(loom) : []), [loom]);
  const held = useView(({ selection }) => selection.stream);
  const hovered = useSenders((state) => state.hovered);
  const key = hovered ?? (held && streamName(held));
  const strand = useMemo(() => strands.find((one) => one.key === key) ?? null, [strands, key]);
  const moves = decided?.frames.filter(({ byHand }) => byHand).length ?? 0;
  return { finding, survey, loom, strands, strand, moves };
}

/** The letter under which an identifier is shown. */
export function useGroupLetters(survey: Survey | null): GroupOf {
  return useMemo(() => {
    const letters = new Map(
      (survey?.frames ?? [])
        .filter(({ direction }) => direction === 'received')
        .map(({ bus, id, extended, group }) => [`${bus}/${id}/${extended}`, group]),
    );
    return ({ bus, id, extended }) => letters.get(`${bus}/${id}/${extended}`) ?? null;
  }, [survey]);
}

export function holdStrand(stream: StreamKey | null): void {
  useSenders.getState().set({ hovered: null, against: null });
  useView.getState().select({ stream, placement: null, signal: null });
}

/** The strand held in the shared selection, whatever the pointer is over: what keys and dialogs act on. */
export function useHeldStrand({ strands }: HeldLoom): Strand | null {
  const held = useView(({ selection }) => selection.stream);
  return useMemo(() => strands.find(({ key }) => held && key === streamName(held)) ?? null, [strands, held]);
}
