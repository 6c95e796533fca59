/** What two maps say of one frame as a whole: length, timing, name, role, sender, payload at rest, need. */
import type { MapFrame, MapTiming } from '../../map/schema.ts';
import { canonical, isSame } from './canonical.ts';
import type { FrameItem } from './merge-claims.ts';
import { isMadeName } from './rank.ts';
import type { MergeItemKind, SetAside, Side } from './types.ts';

interface Part<T> {
  readonly value: T;
  readonly items: readonly FrameItem[];
  readonly aside: readonly SetAside[];
}

interface Versions<T> {
  readonly item: MergeItemKind;
  readonly name: string;
  readonly first: T;
  readonly second: T;
}

/** The same for the same two whichever comes first. */
const byText = (first: unknown, second: unknown): Side => (canonical(first) <= canonical(second) ? 'first' : 'second');

const plainItem = <T>({ item, name }: Versions<T>, outcome: FrameItem['outcome'], detail: string): FrameItem => ({
  item,
  name,
  outcome,
  kept: null,
  decided: true,
  detail,
});

const agreed = <T>(versions: Versions<T>, value: T, detail: string): Part<T> => ({
  value,
  items: [plainItem(versions, isSame(versions.first, versions.second) ? 'equal' : 'united', detail)],
  aside: [],
});

/** Neither is decided for: one goes on, both are told, the other is set aside. */
function clash<T>(versions: Versions<T>, side: Side, detail: string, decided = false): Part<T> {
  const { item, name, first, second } = versions;
  const [value, other] = side === 'first' ? [first, second] : [second, first];
  return {
    value,
    items: [{ item, name, outcome: 'conflict', kept: side, decided, detail, first, second }],
    aside: [{ item, because: detail, version: other }],
  };
}

/** The one that says something goes before one that does not. */
function said<T>(versions: Versions<T>, isUnsaid: (value: T) => boolean, detail: string): Part<T> {
  const { first, second } = versions;
  if (isSame(first, second)) return agreed(versions, first, '');
  if (isUnsaid(first) !== isUnsaid(second))
    return agreed(versions, isUnsaid(first) ? second : first, 'only one says it');
  return clash(versions, byText(first, second), detail);
}

/** Share by which two measured periods of one schedule may differ: oscillators of automotive grade and the short of one capture. */
const PERIOD_SHARE = 0.02;

function isTimedAlike(a: MapTiming, b: MapTiming): boolean {
  if (a.kind !== b.kind || a.replyTo !== b.replyTo || (a.periodMs === null) !== (b.periodMs === null)) return false;
  if (a.periodMs === null || b.periodMs === null) return true;
  return Math.abs(a.periodMs - b.periodMs) <= PERIOD_SHARE * Math.max(a.periodMs, b.periodMs);
}

/** Bench goes before guess, and of two of a kind the longer: a limit that is too short stops a machine for nothing. */
function timeoutOf(a: MapTiming, b: MapTiming): Partial<MapTiming> {
  const given = [a, b].filter(({ timeoutMs }) => timeoutMs !== undefined);
  const bench = given.filter(({ timeoutFrom }) => timeoutFrom === 'bench');
  const [first, ...rest] = bench.length > 0 ? bench : given;
  if (!first) return {};
  const longest = rest.reduce((most, each) => ((each.timeoutMs ?? 0) > (most.timeoutMs ?? 0) ? each : most), first);
  return { timeoutMs: longest.timeoutMs, ...(longest.timeoutFrom ? { timeoutFrom: longest.timeoutFrom } : {}) };
}

function timing(name: string, first: MapTiming, second: MapTiming): Part<MapTiming> {
  const versions = { item: 'timing' as const, name, first, second };
  if (isSame(first, second)) return agreed(versions, first, '');
  if (!isTimedAlike(first, second)) {
    // Seen once says the least of all kinds.
    const once = [first, second].map(({ kind }) => kind === 'once');
    if (once[0] !== once[1]) return agreed(versions, once[0] ? second : first, 'only one saw it more than once');
    return clash(versions, byText(first, second), 'two schedules');
  }
  const [jitterA, jitterB] = [first.jitterMs ?? Infinity, second.jitterMs ?? Infinity];
  const side: Side = jitterA === jitterB ? byText(first, second) : jitterA < jitterB ? 'first' : 'second';
  const [chosen, other] = side === 'first' ? [first, second] : [second, first];
  const byMode = { ...other.byMode, ...chosen.byMode };
  const value: MapTiming = {
    ...other,
    ...chosen,
    ...(Object.keys(byMode).length > 0 ? { byMode } : {}),
    ...timeoutOf(first, second),
  };
  return agreed(versions, value, 'one schedule, measured twice');
}

function name(first: MapFrame, second: MapFrame): Part<string> & { readonly also: readonly string[] } {
  const versions = { item: 'name' as const, name: first.name, first: first.name, second: second.name };
  const part = said(versions, (text) => isMadeName(text, first.id), 'two names');
  const also = [first, second].flatMap((frame) => [
    frame.name,
    ...((frame['alsoNamed'] as string[] | undefined) ?? []),
  ]);
  return {
    ...part,
    aside: [],
    also: [...new Set(also)].filter((text) => text !== part.value && !isMadeName(text, first.id)).sort(),
  };
}

function sender(first: MapFrame, second: MapFrame): Part<MapFrame['sender']> {
  const versions = { item: 'sender' as const, name: first.name, first: first.sender, second: second.sender };
  const [a, b] = [first.sender, second.sender];
  if (!a || !b || isSame(a, b)) return said(versions, (value) => value === null, '');
  const hand = [a, b].map((each) => each['byHand'] === true);
  const group = a.group === b.group;
  const names = [a.name, b.name].filter((text) => text !== '');
  if (group && new Set(names).size <= 1) {
    const confidence = Math.max(a.confidence, b.confidence);
    return agreed(versions, { ...a, ...b, name: names[0] ?? '', confidence }, 'one sender');
  }
  if (hand[0] !== hand[1]) return clash(versions, hand[0] ? 'first' : 'second', 'put there by hand', true);
  return clash(versions, byText(a, b), 'two senders');
}

/** Counters and checksums differ in any two payloads: that is no conflict. The one that was watched longer is kept. */
function rest(first: MapFrame, second: MapFrame): Part<MapFrame['rest']> {
  const versions = { item: 'rest' as const, name: first.name, first: first.rest, second: second.rest };
  const [a, b] = [first.rest, second.rest];
  if (!a || !b || isSame(a, b)) return said(versions, (value) => value === null, '');
  const [spanA, spanB] = [a.toS - a.fromS, b.toS - b.fromS];
  const side: Side = spanA === spanB ? byText(a, b) : spanA > spanB ? 'first' : 'second';
  const [value, other] = side === 'first' ? [a, b] : [b, a];
  return {
    value,
    items: [{ ...plainItem(versions, 'united', 'recorded in both; the longer rest is kept'), kept: side }],
    aside:
      a.payload === b.payload
        ? []
        : [{ item: 'rest', because: 'recorded at rest in the other capture', version: other }],
  };
}

/** What was told required stays so until a bench says otherwise: leaving it out is the dangerous mistake. */
function need(first: MapFrame, second: MapFrame): Part<MapFrame['need']> {
  const versions = { item: 'need' as const, name: first.name, first: first.need, second: second.need };
  const [a, b] = [first.need, second.need];
  if (isSame(a, b)) return agreed(versions, a, '');
  if (a.verdict === 'untested' || b.verdict === 'untested')
    return said(versions, ({ verdict }) => verdict === 'untested', 'both untested');
  const bench = [a, b].map(({ how }) => how === 'bench');
  if (bench[0] !== bench[1]) {
    const [side, isConflict] = [bench[0] ? ('first' as const) : ('second' as const), a.verdict !== b.verdict];
    return isConflict
      ? clash(versions, side, 'a bench trial decides', true)
      : agreed(versions, bench[0] ? a : b, 'a bench trial says so');
  }
  if (a.verdict === b.verdict) return agreed(versions, byText(a, b) === 'first' ? a : b, 'alike by other signs');
  return clash(versions, a.verdict === 'required' ? 'first' : 'second', 'required in one, not in the other');
}

function length(first: MapFrame, second: MapFrame): Part<Pick<MapFrame, 'length' | 'fd'>> {
  const of = ({ length: bytes, fd }: MapFrame): Pick<MapFrame, 'length' | 'fd'> => ({ length: bytes, fd });
  const versions = { item: 'length' as const, name: first.name, first: of(first), second: of(second) };
  if (isSame(of(first), of(second))) return agreed(versions, of(first), '');
  // The longer one, so that what either of them placed lies inside.
  const side: Side =
    first.length === second.length ? byText(of(first), of(second)) : first.length > second.length ? 'first' : 'second';
  return clash(versions, side, 'two lengths');
}

/** Where one says that the part sends the frame itself, it does until a person decides: to send it beside the part is the dangerous mistake. */
function roleOf(first: MapFrame, second: MapFrame): Part<MapFrame['role']> {
  const versions = { item: 'role' as const, name: first.name, first: first.role, second: second.role };
  const roles = [first.role, second.role];
  if (roles.includes('sent-by-part') && roles.includes('needed-by-part'))
    return clash(versions, first.role === 'sent-by-part' ? 'first' : 'second', 'two roles');
  return said(versions, (value) => value === 'unknown' || value === 'other', 'two roles');
}

export interface MergedHead {
  readonly head: Pick<MapFrame, 'length' | 'fd' | 'name' | 'role' | 'sender' | 'timing' | 'rest' | 'need'>;
  readonly alsoNamed: readonly string[];
  readonly items: readonly FrameItem[];
  readonly aside: readonly SetAside[];
}

export function mergeHead(first: MapFrame, second: MapFrame): MergedHead {
  const named = name(first, second);
  const role = roleOf(first, second);
  const parts = {
    length: length(first, second),
    role,
    sender: sender(first, second),
    timing: timing(first.name, first.timing, second.timing),
    need: need(first, second),
  };
  const size = parts.length.value;
  // A payload of another length than the frame's is none that can be sent.
  const resting = (frame: MapFrame): MapFrame => (frame.length === size.length ? frame : { ...frame, rest: null });
  const lost = [first, second].filter((frame) => frame.rest && frame.length !== size.length);
  const still = rest(resting(first), resting(second));
  const all: readonly Part<unknown>[] = [named, ...Object.values(parts), still];
  return {
    head: {
      ...size,
      name: named.value,
      role: role.value,
      sender: parts.sender.value,
      timing: parts.timing.value,
      rest: still.value,
      need: parts.need.value,
    },
    alsoNamed: named.also,
    items: all.flatMap(({ items }) => items),
    aside: [
      ...all.flatMap(({ aside }) => aside),
      ...lost.map(({ rest: version }): SetAside => ({ item: 'rest', because: 'of another length', version })),
    ],
  };
}
