/**
 * Which captures of a dossier are short ones named after what was done in them: those without marks of their own, by title or
 * else by the names of their files. What is not understood is said, never guessed.
 */
import { readCaptureNames } from '../actions/capture-names.ts';
import type { Dossier, DossierCapture } from '../jobs/dossier.ts';
import type { NamedRequest } from './tasks/link-short.ts';
import type { CaptureRequest } from './tasks/context.ts';
import type { Terminal } from './terminal.ts';

/** So many of one action, and as many others, before captures count as repetitions. */
const REPETITIONS_LEAST = 2;

/** [captures] to tie fields by; null where the dossier holds no repetitions. */
export function namedCaptures(
  { captures }: Dossier,
  requestOf: (capture: DossierCapture) => CaptureRequest,
  terminal: Terminal,
): NamedRequest[] | null {
  const bare = captures.filter(({ marks }) => marks.length === 0);
  const read = bare.map((capture) => ({
    capture,
    said: readCaptureNames([capture.title, ...capture.files.map(({ name }) => name)]),
  }));
  const named = read.flatMap(({ capture, said }): NamedRequest[] =>
    said.kind === 'unclear'
      ? []
      : [{ ...requestOf(capture), title: capture.title, action: said.kind === 'action' ? said.action : null }],
  );
  const times = (action: string | null): number => named.filter((each) => each.action === action).length;
  const repeated = named.some(
    ({ action }) =>
      action !== null && times(action) >= REPETITIONS_LEAST && named.length - times(action) >= REPETITIONS_LEAST,
  );
  if (!repeated) return null;
  for (const { capture, said } of read) {
    if (said.kind !== 'unclear') continue;
    terminal.warn({
      code: 'capture-name-not-understood',
      message: `the name of the capture "${capture.title}" does not say what was done in it: it is left out.`,
      advice: 'Call it after the one action done, such as "brake pressed 3", or "nothing" where nothing was done.',
    });
  }
  return named;
}
