/** What Proof asks: a map held against the capture that it looks at, and whether the open recording suffices. */
import { useMemo } from 'react';
import type { DossierCapture } from '../../../jobs/dossier.ts';
import type { Engine } from '../../../jobs/engine-types.ts';
import type { Control } from '../../../kit/control.ts';
import type { SignalMap } from '../../../map/schema.ts';
import type { ProofReport } from '../../../proof/hold/types.ts';
import type { DonorCan, Sufficiency } from '../../../proof/suffices/types.ts';
import { SEED, useBroadcasts, useLinks, useRulerMarks, useSurvey } from '../../stores/asking.ts';
import { useCaptures } from '../../stores/captures.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useCurrentCapture, useFinding, type Finding } from '../../stores/finding.ts';
import { fingerprintOnce } from '../../stores/findings.ts';
import { plainMarks } from '../../stores/marks-clock.ts';
import { useView } from '../../stores/view.ts';
import { besideKey, useBeside } from './beside.ts';
import { choicesOf, type Choice } from './choices.ts';
import { useProof } from './store.ts';

/** The map that is held: one opened from a file, else that of the open capture; null until it is there. */
export function useHeldMap(): SignalMap | null {
  const opened = useProof((state) => state.opened);
  const made = useProof((state) => state.made.map);
  return opened?.map ?? made;
}

/** The captures that there are, with why some are not offered. */
export function useChoices(): readonly Choice[] {
  const captures = useDossier(({ dossier }) => dossier.captures);
  const open = useCaptures((state) => state.open);
  const opened = useProof((state) => state.opened);
  const madeFrom = useView(({ captureId }) => captureId);
  return useMemo(
    () =>
      choicesOf(
        captures,
        (id) => open.find((one) => one.id === id)?.phase,
        opened?.map ?? null,
        opened ? null : madeFrom,
      ),
    [captures, open, opened, madeFrom],
  );
}

/** The capture that the map is held against; null where none is chosen, or none that may be. */
export function useAgainst(): DossierCapture | null {
  const id = useView(({ against }) => against);
  const choices = useChoices();
  const captures = useDossier(({ dossier }) => dossier.captures);
  const may = choices.some((choice) => choice.id === id && choice.refused === null);
  return (may && captures.find((capture) => capture.id === id)) || null;
}

/** Asked once the map is settled; below `LookedAt` of the capture it is held against. */
export function useProofReport(): Finding<ProofReport> {
  const map = useHeldMap();
  const settled = useProof(({ opened, made }) => opened !== null || made.settled);
  const against = useAgainst();
  const current = useCurrentCapture();
  const isThere = against !== null && current?.entry.id === against.id;
  const files = current?.open.summary?.files;
  const { marks, reference } = useBeside(isThere ? current.entry : null);
  const options = useMemo(
    () => ({ map: map && fingerprintOnce(map), beside: besideKey({ marks, reference }) }),
    [map, marks, reference],
  );
  const run = useMemo(() => {
    if (!map || !isThere || !files) return null;
    const fileDigests = files.map(({ sha256 }) => sha256);
    const beside = { marks, reference, seed: SEED };
    return (engine: Engine, control: Control) =>
      engine.analyse<'prove'>({ job: 'prove', map, fileDigests, ...beside }, control);
  }, [map, isThere, files, marks, reference]);
  return useFinding('prove', options, run, settled);
}

export const DONORS: readonly { readonly can: DonorCan; readonly words: string }[] = [
  { can: 'drive', words: 'drive' },
  { can: 'key-on', words: 'key on only' },
  { can: 'bench', words: 'bench only' },
];

/** What the donor can still do, as the person said. */
export const useDonor = (): DonorCan => {
  const said = useDossier(({ dossier }) => dossier['donorCan']);
  return DONORS.find(({ can }) => can === said)?.can ?? 'drive';
};

export const sayDonor = (can: DonorCan): void =>
  useDossier.getState().change('say what the donor can do', (dossier) => ({ ...dossier, donorCan: can }));

/** Whether the open recording suffices; once its fields are found, and what answers the marks where there are some. */
export function useSufficiency(): Finding<Sufficiency> {
  const survey = useSurvey().value;
  const findings = useBroadcasts();
  const asked = useLinks();
  const { marks: placed } = useRulerMarks();
  const donor = useDonor();
  const links = asked.outdated ? null : asked.value;
  const isLinking = asked.slot?.state === 'running' || asked.outdated || (placed.length > 0 && !asked.slot);
  const marks = useMemo(() => plainMarks(placed), [placed]);
  const options = useMemo(
    () => ({
      survey: survey && fingerprintOnce(survey),
      findings: findings && fingerprintOnce(findings),
      links: links && fingerprintOnce(links),
      marks,
      donor,
    }),
    [survey, findings, links, marks, donor],
  );
  const run = useMemo(() => {
    if (!survey || !findings || isLinking) return null;
    const { capture, frames, groups, modes } = survey;
    const known = { capture, frames, groups, modes };
    return (engine: Engine, control: Control) =>
      engine.analyse<'suffices'>({ job: 'suffices', survey: known, findings, marks, links, donor }, control);
  }, [survey, findings, isLinking, marks, links, donor]);
  return useFinding('suffices', options, run);
}
