/** What lets a frame be sent on one vehicle lets it be sent on no other, and no merging forgets that something moved. */
import { expect, it } from 'vitest';
import { whyNeverSent } from '../../src/handover/sending/choice.ts';
import { sentEntries, shownHarmless } from '../../src/handover/sending/harmless.ts';
import { restMark } from '../../src/handover/sending/marked-rest.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { carryMap } from '../../src/proof/merge/carry.ts';
import { mergeMaps } from '../../src/proof/merge/merge-maps.ts';
import { aFrame, aMap } from '../support/map-parts.ts';

const other = { id: 'c9', title: 'the other van', files: [{ name: 'b.log', bytes: 2, sha256: 'b'.repeat(64) }] };
const entry = (trials: number, moved: boolean) => ({ kind: 'bench', capture: 'bench', trials, moved });
const rest = { payload: '01 02 03 04 05 06 07 08', capture: 'c1', fromS: 0, toS: 5, marked: 'at rest#1' };
const tried = (...sent: object[]): MapFrame => ({ ...aFrame({ name: 'gear', rest }), sent }) as MapFrame;
const theFrame = ({ frames }: SignalMap): MapFrame => frames[0] as MapFrame;

it('carried to another vehicle, a payload is marked at rest and shown harmless by nobody there', () => {
  const given = aMap([tried(entry(3, false))]);
  expect([restMark(theFrame(given)), shownHarmless(theFrame(given))]).toEqual(['at rest#1', true]);
  const there = theFrame(carryMap(given, { frames: [] } as never, other).map);
  expect([restMark(there), shownHarmless(there)]).toEqual([null, false]);
  expect(there.rest?.payload).toBe(rest.payload);
  // Nothing that a person made is lost.
  expect(there['carried']).toMatchObject({ elsewhere: { marked: 'at rest#1', sent: [entry(3, false)] } });
});

it('carried there once more, what was marked and tried there meanwhile stays', () => {
  const there = carryMap(aMap([tried(entry(3, false))]), { frames: [] } as never, other).map;
  const marked = { ...theFrame(there), rest: { ...rest, payload: 'FF 00 00 00 00 00 00 00', marked: 'parked' } };
  const again = theFrame(carryMap({ ...there, frames: [marked] }, { frames: [] } as never, other).map);
  expect(restMark(again)).toBe('parked');
  expect(again.rest?.payload).toBe('FF 00 00 00 00 00 00 00');
  expect(again['carried']).toMatchObject({ elsewhere: { marked: 'at rest#1' } });
});

it('merged, a trial in which something moved outweighs all others, whichever map comes first', () => {
  const [still, moved] = [aMap([tried(entry(3, false))]), aMap([tried(entry(1, true))])];
  for (const [first, second] of [[still, moved] as const, [moved, still] as const]) {
    const merged = theFrame(mergeMaps(first, second).map);
    expect(sentEntries(merged)).toHaveLength(2);
    expect(shownHarmless(merged)).toBe(false);
  }
  expect(sentEntries(theFrame(mergeMaps(still, still).map))).toEqual([entry(3, false)]);
});

it('merged, a frame that one map says the part sends itself is not to be sent, until a person decides', () => {
  const of = (role: MapFrame['role']) => aMap([{ ...aFrame({ name: 'gear', rest }), role }]);
  for (const [a, b] of [
    ['sent-by-part', 'needed-by-part'],
    ['needed-by-part', 'sent-by-part'],
  ] as const) {
    const merged = mergeMaps(of(a), of(b));
    expect(theFrame(merged.map).role).toBe('sent-by-part');
    expect(whyNeverSent(merged.map, theFrame(merged.map))).toContain('two senders');
  }
});
