/** Names within a frame: selectors of one place get one name, and no two of a kind share one. */
import type { MapFrame, MapSelector, When } from '../../map/schema.ts';
import { placeText } from './claims.ts';
import { isMadeName } from './rank.ts';

type Names = ReadonlyMap<string, string>;

function renamedWhen<T extends { readonly when?: When | undefined }>(item: T, names: Names): T {
  if (!item.when) return item;
  const when = Object.fromEntries(Object.entries(item.when).map(([name, values]) => [names.get(name) ?? name, values]));
  return { ...item, when };
}

function withSelectorNames(frame: MapFrame, names: Names): MapFrame {
  if ([...names].every(([from, to]) => from === to)) return frame;
  const selectors = frame.selectors.map((one) =>
    renamedWhen({ ...one, name: names.get(one.name) ?? one.name } as MapSelector, names),
  );
  return {
    ...frame,
    selectors,
    counters: frame.counters.map((one) => renamedWhen(one, names)),
    checksums: frame.checksums.map((one) => renamedWhen(one, names)),
    signals: frame.signals.map((one) => renamedWhen(one, names)),
  };
}

function freeName(name: string, taken: ReadonlySet<string>): string {
  let own = name;
  for (let n = 2; taken.has(own); n++) own = `${name}_${n}`;
  return own;
}

/** The same selector by one name in both; another one of the same name gets one of its own in the second. */
export function alignSelectors(first: MapFrame, second: MapFrame): readonly [MapFrame, MapFrame] {
  const places = new Map(first.selectors.map((one) => [placeText(one as never), one.name]));
  const [own, others] = [new Map<string, string>(), new Map<string, string>()];
  const taken = new Set(first.selectors.map(({ name }) => name));
  for (const { name, ...place } of second.selectors) {
    const twin = places.get(placeText(place as never));
    if (twin === undefined) continue;
    // A name that somebody gave goes before one that is made, and of two given ones the first by the alphabet.
    const made = [twin, name].map((text) => isMadeName(text, first.id));
    const better = made[0] === made[1] ? (twin <= name ? twin : name) : made[0] ? name : twin;
    const agreed = better === twin || !taken.has(better) ? better : twin;
    own.set(twin, agreed);
    others.set(name, agreed);
    taken.add(agreed);
  }
  for (const { name } of second.selectors) {
    if (others.has(name)) continue;
    const free = freeName(name, taken);
    others.set(name, free);
    taken.add(free);
  }
  return [withSelectorNames(first, own), withSelectorNames(second, others)];
}

/** Signals and counters whose name another of the frame has already get a number behind it; what they were called stays beside. */
export function onlyOnce<T extends { readonly name: string }>(items: readonly T[]): T[] {
  const taken = new Set<string>();
  return items.map((item) => {
    const name = freeName(item.name, taken);
    taken.add(name);
    if (name === item.name) return item;
    const also = (item as { readonly alsoNamed?: readonly string[] }).alsoNamed ?? [];
    return { ...item, name, alsoNamed: [...new Set([...also, item.name])].sort() };
  });
}
