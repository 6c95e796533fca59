/** Whether checksums agree and selectors show known pages. */
import { leftBy } from '../../fields/mask.ts';
import type { Placement } from '../../frames/bits.ts';
import type { Stream } from '../../frames/table.ts';
import { verifyChecksum } from '../../map/checksum.ts';
import type { CompiledFrame } from '../../map/decode.ts';
import { valuesOnPage } from '../../map/page-values.ts';
import { bigOf, writtenRaw } from '../../map/raw-values.ts';
import type { MapChecksum, MapFrame } from '../../map/schema.ts';
import { momentsOf } from './moments.ts';
import * as limit from './thresholds.ts';
import type { ProofItem } from './types.ts';

/** Different payloads, counted until there are enough. @param seen those of the frames before, added to */
export function distinctPayloads(stream: Stream, enough: number, seen = new Set<string>()): number {
  for (let row = 0; row < stream.count && seen.size < enough; row++) {
    seen.add(stream.payload.subarray(row * stream.stride, (row + 1) * stream.stride).join());
  }
  return seen.size;
}

const placeOf = ({ lsb, length, method }: MapChecksum): string =>
  `${method} at byte ${lsb.byte} bit ${lsb.bit}, ${length} bits`;

function proveChecksum(checksum: MapChecksum, frame: MapFrame, stream: Stream): ProofItem {
  const base = { item: 'checksum' as const, name: placeOf(checksum) };
  const result = verifyChecksum(checksum, frame, stream);
  if (!result) {
    const detail = `a checksum of method "${checksum.method}" cannot be computed`;
    return { ...base, verdict: 'not-exercised', rate: null, n: 0, detail, moments: [] };
  }
  const rate = result.checked > 0 ? result.passed / result.checked : null;
  const distinct = distinctPayloads(stream, limit.DISTINCT_PAYLOADS_NEEDED);
  const varied = distinct >= limit.DISTINCT_PAYLOADS_NEEDED;
  const agrees = rate !== null && rate >= limit.CHECKSUM_HOLDS;
  const verdict = rate === null || (agrees && !varied) ? 'not-exercised' : agrees ? 'holds' : 'fails';
  const notes = [
    `${result.passed} of ${result.checked} frames agree`,
    result.unchecked > 0 && `${result.unchecked} could not be checked`,
    !varied && `only ${distinct} different payloads`,
  ];
  const detail = notes.filter(Boolean).join(', ');
  return { ...base, verdict, rate, n: result.checked, detail, moments: momentsOf(stream, result.failures) };
}

export const proveChecksums = ({ frame }: CompiledFrame, stream: Stream): ProofItem[] =>
  frame.checksums.map((checksum) => proveChecksum(checksum, frame, stream));

/** Raw values that the map's layouts name for a selector. */
function knownValues(name: string, frame: MapFrame): Set<number> {
  const whens = [...frame.signals, ...frame.counters, ...frame.checksums, ...frame.selectors].map(
    ({ when }) => when?.[name] ?? [],
  );
  return new Set(whens.flat());
}

/** Pages that the map does not know and on which nothing ever moves: there is nothing on them to know. */
function emptyPages(
  strange: readonly number[],
  raws: ArrayLike<number>,
  rows: ArrayLike<number>,
  frame: MapFrame,
  stream: Stream,
): Set<number> {
  const { selectors, counters, checksums } = frame;
  const mask = leftBy(new Uint8Array(stream.stride).fill(0xff), [
    ...selectors,
    ...counters,
    ...checksums,
  ] as Placement[]);
  const contents = new Map<number, Set<string>>();
  for (const i of strange) {
    const at = (rows[i] as number) * stream.stride;
    const page = contents.get(raws[i] as number) ?? new Set();
    const bytes = stream.payload.subarray(at, at + stream.stride).map((byte, k) => byte & (mask[k] as number));
    contents.set(raws[i] as number, page.add(bytes.join()));
  }
  return new Set([...contents].filter(([, content]) => content.size === 1).map(([page]) => page));
}

export function proveSelectors(compiled: CompiledFrame, stream: Stream): ProofItem[] {
  return compiled.selectors.map((selector) => {
    const { name } = selector.rule;
    const { rows, raws } = valuesOnPage(selector, stream);
    const known = knownValues(name, compiled.frame);
    const seen = new Set(raws);
    const unnamed = [...rows.keys()].filter((i) => !known.has(raws[i] as number));
    const empty = emptyPages(unnamed, raws, rows, compiled.frame, stream);
    const strange = unnamed.filter((i) => !empty.has(raws[i] as number));
    const rate = raws.length > 0 ? 1 - strange.length / raws.length : null;
    const untested = rate === null || known.size === 0 || raws.length < limit.VALUES_NEEDED || seen.size < 2;
    const missing = [...known].filter((value) => !seen.has(value));
    const unknown = [...seen]
      .filter((value) => !known.has(value) && !empty.has(value))
      .map((value) => writtenRaw(bigOf(value)));
    const notes = [
      `${seen.size} values seen`,
      missing.length > 0 && `not seen: ${missing.slice(0, 12).join(', ')}`,
      empty.size > 0 && `nothing moves on ${[...empty].slice(0, 12).join(', ')}`,
      unknown.length > 0 && `not in the map: ${unknown.slice(0, 12).join(', ')}`,
    ];
    return {
      item: 'selector' as const,
      name,
      verdict: untested ? 'not-exercised' : rate >= limit.VALUES_HOLD ? 'holds' : 'fails',
      rate: untested ? null : rate,
      n: raws.length,
      detail: notes.filter(Boolean).join('; '),
      moments: momentsOf(
        stream,
        strange.slice(0, 20).map((i) => rows[i] as number),
      ),
    };
  });
}
