/**
 * Two maps of one part as one, item by item. The same items are recognised by bus (the identifiers on it), identifier and place of bits, not
 * by their names. Where the maps agree, or one knows more, what both know is taken together with the evidence of both. Where they contradict
 * each other both versions are told and both are kept: what a person set, then the better standing, is in force; where that does not decide,
 * one is, marked `disputed` and as a guess, and the other stands under `setAside`. A map merged with itself is unchanged; the order of the
 * two changes no more than the order of lists and the names of buses, captures and groups.
 */
import { requiredFeatures } from '../../map/features.ts';
import { frameKey } from '../../map/identifiers.ts';
import { refusedFrames, withRefused } from '../../map/refused.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { busNames, groupNames, withBusNames, withGroupNames } from './align.ts';
import { canonical, isSame, union, without } from './canonical.ts';
import { uniteCaptures, withCaptureNames } from './captures.ts';
import { mergeFrame, type MergedFrame } from './merge-frame.ts';
import { versionOf, type Merged, type MergeItem, type SetAside } from './types.ts';

const frameOf = ({ bus, id, extended, name }: MapFrame): MergeItem['frame'] => ({ bus, id, extended, name });

interface Frames {
  readonly frames: MapFrame[];
  readonly items: MergeItem[];
  readonly names: { readonly first: Renames; readonly second: Renames };
}
/** Frame -> old name of a signal -> new one. */
type Renames = Map<string, ReadonlyMap<string, string>>;

function onlyIn(frame: MapFrame, outcome: 'only-in-first' | 'only-in-second'): MergeItem {
  const said = `${frame.signals.length} signals, ${frame.counters.length} counters, ${frame.checksums.length} checksums`;
  return {
    frame: frameOf(frame),
    item: 'presence',
    name: frame.name,
    outcome,
    kept: null,
    decided: true,
    detail: said,
  };
}

function mergeFrames(first: SignalMap, second: SignalMap): Frames {
  const others = new Map(second.frames.map((frame) => [frameKey(frame), frame]));
  const own = new Set(first.frames.map(frameKey));
  const names = { first: new Map() as Renames, second: new Map() as Renames };
  const frames: MapFrame[] = [];
  const items: MergeItem[] = [];
  for (const frame of first.frames) {
    const other = others.get(frameKey(frame));
    if (!other) {
      frames.push(frame);
      items.push(onlyIn(frame, 'only-in-first'));
      continue;
    }
    const merged: MergedFrame = mergeFrame(frame, other);
    frames.push(merged.frame);
    items.push(...merged.items.map((item) => ({ frame: frameOf(merged.frame), ...item })));
    names.first.set(frameKey(frame), merged.signalNames.first);
    names.second.set(frameKey(frame), merged.signalNames.second);
  }
  for (const frame of second.frames.filter((each) => !own.has(frameKey(each)))) {
    frames.push(frame);
    items.push(onlyIn(frame, 'only-in-second'));
  }
  return { frames, items, names };
}

type Sequence = SignalMap['sequences'][number];

/** Steps name signals: by the names that these have now. */
function withSignalNames(sequence: Sequence, names: Renames): Sequence {
  const steps = sequence.steps.map((step) => {
    const own = [...names].find(
      ([key]) => key === frameKey({ ...step, extended: false }) || key === frameKey({ ...step, extended: true }),
    );
    return { ...step, signal: own?.[1].get(step.signal) ?? step.signal };
  });
  return { ...sequence, steps };
}

interface Sequences {
  readonly sequences: Sequence[];
  readonly items: MergeItem[];
  readonly aside: SetAside[];
}

/** One event's order on two occasions, which never come out quite alike: the one that was seen more often goes on, the other is set aside. */
function mergeSequences(first: readonly Sequence[], second: readonly Sequence[]): Sequences {
  const keyOf = ({ name, event }: Sequence): string => canonical([name, event]);
  const others = new Map(second.map((sequence) => [keyOf(sequence), sequence]));
  const own = new Set(first.map(keyOf));
  const item = (
    name: string,
    rest: Pick<MergeItem, 'outcome' | 'kept' | 'decided' | 'detail'> & Partial<MergeItem>,
  ): MergeItem => ({
    frame: null,
    item: 'sequence',
    name,
    ...rest,
  });
  const aside: SetAside[] = [];
  const both = first.map((sequence): { sequence: Sequence; item: MergeItem } => {
    const other = others.get(keyOf(sequence));
    const plain = { kept: null, decided: true, detail: '' };
    if (!other) return { sequence, item: item(sequence.name, { ...plain, outcome: 'only-in-first' }) };
    if (isSame(sequence, other)) return { sequence, item: item(sequence.name, { ...plain, outcome: 'equal' }) };
    const isFirst = sequence.n === other.n ? canonical(sequence) <= canonical(other) : sequence.n > other.n;
    aside.push({ item: 'sequence', because: 'seen otherwise in the other map', version: isFirst ? other : sequence });
    const detail = `seen ${sequence.n} times in the first, ${other.n} in the second`;
    const told = {
      outcome: 'united' as const,
      kept: isFirst ? ('first' as const) : ('second' as const),
      decided: true,
      detail,
    };
    return {
      sequence: isFirst ? sequence : other,
      item: item(sequence.name, told),
    };
  });
  const alone = second.filter((sequence) => !own.has(keyOf(sequence)));
  return {
    sequences: [...both.map(({ sequence }) => sequence), ...alone],
    items: [
      ...both.map((each) => each.item),
      ...alone.map(({ name }) => item(name, { outcome: 'only-in-second', kept: null, decided: true, detail: '' })),
    ],
    aside,
  };
}

function mergeBuses(first: SignalMap, second: SignalMap): SignalMap['buses'] {
  const others = new Map(second.buses.map((bus) => [bus.name, bus]));
  const own = new Set(first.buses.map(({ name }) => name));
  const known = <T>(a: T | null | undefined, b: T | null | undefined): T | null => a ?? b ?? null;
  return [
    ...first.buses.map((bus) => {
      const other = others.get(bus.name);
      const [bitrate, dataBitrate] = [known(bus.bitrate, other?.bitrate), known(bus.dataBitrate, other?.dataBitrate)];
      return { ...other, ...bus, bitrate, dataBitrate };
    }),
    ...second.buses.filter(({ name }) => !own.has(name)),
  ];
}

const OWN = ['format', 'version', 'requires', 'part', 'made', 'captures', 'buses', 'frames', 'sequences', 'setAside'];

/** What the maps say of the part, and what this program does not know of; what differs of the second's is set aside. */
function mergeRest(first: SignalMap, second: SignalMap): { rest: object; aside: SetAside[]; items: MergeItem[] } {
  const part = { ...second.part, ...first.part };
  for (const key of ['title', 'donor', 'notes'] as const) part[key] = first.part[key] || second.part[key];
  const [more, less] = [without(first, OWN), without(second, OWN)];
  const differing = [
    ...(['title', 'donor', 'notes'] as const)
      .filter((key) => second.part[key] !== '' && second.part[key] !== part[key])
      .map((key) => ({ name: `part ${key}`, first: first.part[key] as unknown, second: second.part[key] as unknown })),
    ...first.buses.flatMap((bus) => {
      const other = second.buses.find(({ name }) => name === bus.name);
      const clash =
        other && (['bitrate', 'dataBitrate'] as const).some((key) => bus[key] && other[key] && bus[key] !== other[key]);
      return clash ? [{ name: `bus ${bus.name}`, first: bus as unknown, second: other as unknown }] : [];
    }),
    ...Object.keys(more)
      .filter((key) => key in less && !isSame(more[key], less[key]))
      .map((key) => ({ name: key, first: more[key], second: less[key] })),
  ];
  return {
    rest: { ...less, ...more, part },
    aside: differing.map(({ name, second: version }) => ({ item: 'map', because: `${name} differs`, version })),
    items: differing.map(({ name, ...versions }) => ({
      frame: null,
      item: 'map',
      name,
      outcome: 'conflict',
      kept: 'first',
      decided: false,
      detail: 'they differ',
      ...versions,
    })),
  };
}

export interface MergeChoice {
  /** Second map's bus -> first map's, where the identifiers on them do not tell. */
  readonly busMap?: Readonly<Record<string, string>>;
}

export function mergeMaps(one: SignalMap, other: SignalMap, { busMap = {} }: MergeChoice = {}): Merged {
  const captures = uniteCaptures(one.captures, other.captures);
  const buses = busNames(one, other, busMap);
  const first = one;
  const renamedSecond = withBusNames(withCaptureNames(other, captures.second), buses);
  const second = withGroupNames(renamedSecond, groupNames(first, renamedSecond));
  const { frames, items, names } = mergeFrames(first, second);
  const sequences = mergeSequences(
    first.sequences.map((sequence) => withSignalNames(sequence, names.first)),
    second.sequences.map((sequence) => withSignalNames(sequence, names.second)),
  );
  const { rest, aside, items: mapItems } = mergeRest(first, second);
  const before = [first, second].map((map) => (map['setAside'] as SetAside[] | undefined) ?? []);
  const setAside = union(union(before[0] ?? [], before[1] ?? [], versionOf), [...aside, ...sequences.aside], versionOf);
  const refused = [...refusedFrames(one)];
  for (const each of refusedFrames(other))
    if (!refused.some(({ frame }) => isSame(frame, each.frame))) refused.push(each);
  const map = {
    ...rest,
    format: one.format,
    version: one.version,
    requires: union(union(one.requires, other.requires), requiredFeatures({ frames })),
    made: one.made.at >= other.made.at ? one.made : other.made,
    captures: captures.captures,
    buses: mergeBuses(first, second),
    frames,
    sequences: sequences.sequences,
    ...(setAside.length > 0 ? { setAside } : {}),
  } as SignalMap;
  const refusedNote = refusedFrames(one).length + refusedFrames(other).length;
  return {
    map: withRefused(map, refused),
    report: {
      items: [...mapItems, ...items, ...sequences.items],
      buses: Object.fromEntries([...buses].filter(([from, to]) => from !== to)),
      captures: { first: Object.fromEntries(captures.first), second: Object.fromEntries(captures.second) },
      warnings:
        refusedNote > 0
          ? [
              {
                code: 'frames-not-compared',
                message: `${refusedNote} frames need a feature that this program does not know: they go along as they are.`,
              },
            ]
          : [],
    },
  };
}
