/** Taking what was proven: into the dossier, as one step that undo takes back; of a map from a file, as a new file. */
import type { DossierCapture } from '../../../jobs/dossier.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { withProof } from '../../../proof/hold/proven-map.ts';
import type { ProofReport } from '../../../proof/hold/types.ts';
import { fileStem, saveAs } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { useDossier } from '../../stores/dossier.ts';
import { proofToTake, withTakenProof, type TakenProof } from '../../stores/proofs.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { textOf } from '../handover/making/map-text.ts';
import type { OpenedMap } from './store.ts';

export interface Became {
  readonly proven: number;
  /** Held but for their scale. */
  readonly held: number;
  readonly refused: number;
}

export function becameOf({ signals }: TakenProof): Became {
  const count = (became: TakenProof['signals'][number]['became']): number =>
    signals.filter((one) => one.became === became).length;
  return { proven: count('proven'), held: count('held'), refused: count('refused') };
}

/** "12 proven, 40 held but for their scale, 2 refused" */
export const becameWords = ({ proven, held, refused }: Became): string =>
  [
    `${plural(proven, 'signal')} proven`,
    ...(held > 0 ? [`${held} held but for their scale, which nothing tested`] : []),
    ...(refused > 0 ? [`${refused} refused`] : []),
  ].join(', ');

const captureOf = ({ id, title, files }: DossierCapture): TakenProof['capture'] => ({
  id,
  title,
  files: files.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 })),
});

export const takeable = (map: SignalMap, report: ProofReport, against: DossierCapture): TakenProof | null =>
  proofToTake(map, report, captureOf(against));

export function takeIntoDossier(proof: TakenProof): void {
  const { title } = proof.capture;
  useDossier.getState().change(`take what “${title}” proved`, (dossier) => withTakenProof(dossier, proof));
  say(`Taken: ${becameWords(becameOf(proof))}. Ctrl Z takes it back.`);
}

const STEM_END = /(\.signal-map)?\.json$/i;

export function saveProven({ name, map }: OpenedMap, report: ProofReport, against: DossierCapture): void {
  const proved = withProof(map, report, captureOf(against));
  if (!proved) return say('The map was made from this very recording: nothing is proven by it.');
  const text = textOf(proved.map, map.made.at);
  if (!text.ok) return say('The map was not saved: it does not hold to its schema.');
  const file = `${fileStem(name.replace(STEM_END, ''), 'map')}-proven.signal-map.json`;
  saveAs(file, text.value, 'application/json');
  say(`${file} saved: ${becameWords({ proven: proved.proven, held: proved.scaleUntested, refused: proved.refused })}.`);
}
