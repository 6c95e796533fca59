/** Captures of two maps under one set of identifiers: the same recording once, different ones never by one name. */
import type { SignalMap } from '../../map/schema.ts';
import { canonical, renamed, without } from './canonical.ts';

export type Capture = SignalMap['captures'][number];
type Names = ReadonlyMap<string, string>;

/** The files of a recording by what is in them; where nobody took digests, all that is said of the capture but its identifier. */
function contentOf(capture: Capture): string {
  const digests = capture.files.map(({ sha256 }) => sha256.toLowerCase()).sort();
  return digests.length > 0 && digests.every(Boolean) ? canonical(digests) : canonical(without(capture, ['id']));
}

export interface OneSetOfCaptures {
  readonly captures: Capture[];
  readonly first: Names;
  readonly second: Names;
}

export function uniteCaptures(first: readonly Capture[], second: readonly Capture[]): OneSetOfCaptures {
  const captures = [...first];
  const taken = new Set([...first, ...second].map(({ id }) => id));
  const known = new Map(first.map((capture) => [contentOf(capture), capture.id]));
  const used = new Set(first.map(({ id }) => id));
  const names = new Map<string, string>();
  const sorted = [...second].sort((a, b) => (contentOf(a) < contentOf(b) ? -1 : 1));
  for (const capture of sorted) {
    const same = known.get(contentOf(capture));
    let id = same ?? capture.id;
    if (same === undefined && used.has(id)) {
      for (let n = 1; taken.has(id); n++) id = `c${n}`;
      taken.add(id);
    }
    names.set(capture.id, id);
    if (same !== undefined) continue;
    used.add(id);
    captures.push({ ...capture, id });
  }
  const changed = new Map([...names].filter(([from, to]) => from !== to));
  return { captures, first: new Map(), second: changed };
}

/** Everywhere that a map speaks of a capture. */
export function withCaptureNames(map: SignalMap, names: Names): SignalMap {
  if (names.size === 0) return map;
  // Spread first: frames that this program could not read go along with the map itself.
  return { ...map, ...renamed({ frames: map.frames, sequences: map.sequences }, ['capture', 'captures'], names) };
}
