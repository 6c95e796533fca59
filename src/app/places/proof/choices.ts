/** Which captures a map may be held against, and why the others may not: what it was made from proves nothing of it. Pure. */
import type { DossierCapture } from '../../../jobs/dossier.ts';
import type { SignalMap } from '../../../map/schema.ts';
import type { CapturePhase } from '../../stores/captures.ts';

export interface Choice {
  readonly id: string;
  readonly title: string;
  readonly role: string;
  /** null: it may be chosen. */
  readonly refused: string | null;
  /** It may be chosen once it has been read. */
  readonly isComing: boolean;
  /** What to bear in mind where it is chosen; empty where there is nothing. */
  readonly note: string;
}

const PHASES: Readonly<Partial<Record<CapturePhase, string>>> = {
  waiting: 'waits to be read',
  reading: 'is being read',
  failed: 'was not understood: see Captures',
  stopped: 'was not read to its end: see Captures',
  missing: 'its file is not in this browser: hand it over again in Captures',
  unrecorded: 'marks only: it has no recording yet',
};

const LACKS_MODULE = /\b(unplugged|disconnected|removed|missing|without)\b/i;

const digestsOf = (files: readonly { readonly sha256: string }[]): readonly string[] =>
  files.map(({ sha256 }) => sha256).filter((digest) => digest !== '');

export function choicesOf(
  captures: readonly DossierCapture[],
  phaseOf: (id: string) => CapturePhase | undefined,
  map: Pick<SignalMap, 'captures'> | null,
  madeFrom: string | null,
): readonly Choice[] {
  const made = new Set(digestsOf(map?.captures.flatMap(({ files }) => files) ?? []));
  const own = captures.find(({ id }) => id === madeFrom);
  for (const digest of digestsOf(own?.files ?? [])) made.add(digest);
  return captures.map((capture) => {
    const { id, title, role, files } = capture;
    const isSource = id === madeFrom || digestsOf(files).some((digest) => made.has(digest));
    const phase = phaseOf(id) ?? 'waiting';
    return {
      id,
      title,
      role,
      refused: isSource ? 'the map is made from it: that it fits there would prove nothing' : (PHASES[phase] ?? null),
      isComing: !isSource && (phase === 'waiting' || phase === 'reading'),
      note: LACKS_MODULE.test(`${role} ${title}`)
        ? 'a module was off: what it sends, and what waits for it, cannot be judged there'
        : '',
    };
  });
}
