/** The signal map of the open capture as it would be saved now: findings and decisions put together, checked by the schema. */
import { useMemo } from 'react';
import { version } from '../../../../package.json';
import type { LinkReport } from '../../../actions/types.ts';
import { assembleMap } from '../../../draft/assemble.ts';
import { askedOf } from '../../../draft/broadcasts.ts';
import type { AssembleInput } from '../../../draft/types.ts';
import type { SignalMap } from '../../../map/schema.ts';
import type { Dossier, DossierCapture } from '../../../jobs/dossier.ts';
import { useFields, useFits, useLinks, useRest, useSameValues, useSurvey } from '../../stores/asking.ts';
import { useMeaning, useSequences } from '../../stores/asking-meaning.ts';
import { useCurrentCapture, type Finding } from '../../stores/finding.ts';
import { useDiagnostics } from '../../stores/diagnostics.ts';
import { useDossier } from '../../stores/dossier.ts';
import { mapWithTaken, takenProofs, type TakenProof } from '../../stores/proofs.ts';
import { withLiveLinks } from '../signals/naming.ts';
import { fileOf } from '../signals/references.ts';
import { withBench } from './bench/kept.ts';

const MADE_BY = `loomscribe ${version}`;

export interface MapState {
  /** With what other captures and the bench showed; null until survey and fields are there. */
  readonly map: SignalMap | null;
  /** Without either: what Proof holds against other captures. */
  readonly unproven: SignalMap | null;
  /** What is being waited for, and what better evidence would still come in. */
  readonly needed: readonly Finding<unknown>[];
  readonly helpful: readonly Finding<unknown>[];
}

/** The part as the map has it; where it goes is told too, where it was said. */
const partOf = ({ part }: Dossier): SignalMap['part'] => ({
  title: part.title,
  donor: part.donor,
  notes: part.notes,
  ...(part.destination ? { destination: part.destination } : {}),
});

const captureOf = ({ id, title, files }: DossierCapture): SignalMap['captures'][number] => ({
  id,
  title,
  files: files.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 })),
});

/** Named signals with the answers that the marks show now. */
const liveSignals = (dossier: Dossier, links: LinkReport | null, capture: string): AssembleInput['signals'] =>
  dossier.signals.map(({ bus, id, extended, signal }) => {
    const frame = { bus, id, extended };
    return { ...frame, signal: links ? withLiveLinks(signal, frame, links.actions, capture) : signal };
  });

let last: { readonly from: readonly unknown[]; readonly map: SignalMap } | null = null;
/** The place and its panel ask for the same map: it is put together once, until something that it is made `from` changes. */
function assembleOnce(from: readonly unknown[], inputOf: () => AssembleInput): SignalMap {
  const same = last && last.from.every((part, index) => part === from[index]);
  if (!last || !same) last = { from, map: assembleMap(inputOf()) };
  return last.map;
}

/** What of the dossier goes into the map as it is put together. */
const decidedIn = ({ signals, decisions, frameNames, part, partSenders }: Dossier): readonly unknown[] => [
  signals,
  decisions,
  frameNames,
  part,
  partSenders,
];

const proven = new WeakMap<SignalMap, { readonly by: readonly TakenProof[]; readonly map: SignalMap }>();
/** With what other captures proved, once for each of the two. */
function provenOnce(map: SignalMap, by: readonly TakenProof[]): SignalMap {
  const known = proven.get(map);
  if (known?.by === by) return known.map;
  const told = mapWithTaken(map, by);
  proven.set(map, { by, map: told });
  return told;
}

/** The moment of saving is put in when it is saved: a preview must not change with the clock. */
export function useMap(): MapState {
  const current = useCurrentCapture();
  const dossier = useDossier((state) => state.dossier);
  const survey = useSurvey();
  const fields = useFields();
  const links = useLinks();
  const rest = useRest();
  const same = useSameValues();
  const references = current?.entry.references;
  const file = useMemo(() => {
    const first = references?.find(({ from }) => from === 'file');
    return references && first ? fileOf(references, first) : null;
  }, [references]);
  const fits = useFits(file, current?.entry.referenceOffset ?? 'auto');
  const sequences = useSequences(true);
  const meaning = useMeaning(true);
  const diagnostics = useDiagnostics();
  const entry = current?.entry;
  const needed = [survey, fields];
  const helpful = [links, rest, fits, same, sequences, meaning, diagnostics];
  const [found, findings] = [survey.value, fields.value];
  if (!found || !findings || !entry) return { map: null, unproven: null, needed, helpful };
  const parts = [...needed, ...helpful].map(({ value }) => value);
  const unproven = assembleOnce([...parts, ...decidedIn(dossier), entry], () => ({
    survey: found,
    findings,
    asked: diagnostics.value ? askedOf(diagnostics.value.report) : [],
    links: links.value,
    fits: fits.value,
    same: same.value,
    rest: rest.value ?? [],
    sequences: sequences.value ?? [],
    meaning: meaning.value,
    signals: liveSignals(dossier, links.value, entry.id),
    decisions: dossier.decisions as AssembleInput['decisions'],
    frameNames: dossier.frameNames,
    partSenders: dossier.partSenders,
    part: partOf(dossier),
    captures: [captureOf(entry)],
    made: { by: MADE_BY, at: '' },
  }));
  const proved = provenOnce(unproven, takenProofs(dossier));
  return { map: withBench(proved, dossier.bench), unproven, needed, helpful };
}
