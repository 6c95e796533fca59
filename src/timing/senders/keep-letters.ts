/**
 * Which letter a sender group has: the one under which it is known already, however the finders number their groups this time.
 * Groups are recognised by the identifiers that they share with known ones (greedy matching, largest overlap first), buses by the
 * identifiers on them, so that a capture whose buses are named otherwise, or swapped, finds the same senders.
 */
import { groupLetter } from './groups.ts';

export interface SenderMember {
  readonly bus: string;
  /** As the map writes it, "0x1F4". */
  readonly id: string;
  readonly extended: boolean;
}

/** A sender as the dossier knows it. A letter once given stays taken, also where no identifier is left to it. */
export interface KnownSender {
  readonly group: string;
  /** By a person; empty until then. */
  readonly name: string;
  /** Identifiers by which it is recognised, under the bus names of the capture that brought them first. */
  readonly members: readonly SenderMember[];
}

export interface FoundGroup {
  readonly group: string;
  readonly members: readonly SenderMember[];
}

export interface KeptLetters {
  /** The finders' letter to the one that is kept. */
  readonly letters: ReadonlyMap<string, string>;
  /** What is known from now on; the very array that was given where nothing is new. */
  readonly known: readonly KnownSender[];
}

const identity = ({ id, extended }: SenderMember): string => `${id}${extended ? 'x' : ''}`;
const memberKey = (member: SenderMember): string => `${member.bus}/${identity(member)}`;

/** Pairs in the order given, each side taken once. */
function oneToOne<A, B>(pairs: readonly (readonly [A, B])[]): [A, B][] {
  const [left, right] = [new Set<A>(), new Set<B>()];
  return pairs.flatMap(([a, b]): [A, B][] => {
    if (left.has(a) || right.has(b)) return [];
    left.add(a);
    right.add(b);
    return [[a, b]];
  });
}

const distinct = (names: Iterable<string>): string[] => [...new Set(names)].sort();

/**
 * The known name of each bus of a capture: that of the bus which shares the most identifiers with it; its own
 * where none does, and where two share as many.
 */
export function knownBuses(found: readonly SenderMember[], known: readonly KnownSender[]): (bus: string) => string {
  const members = known.flatMap((sender) => sender.members);
  const [mine, theirs] = [distinct(found.map(({ bus }) => bus)), distinct(members.map(({ bus }) => bus))];
  const onBus = (all: readonly SenderMember[], bus: string): Set<string> =>
    new Set(all.filter((member) => member.bus === bus).map(identity));
  const knownOn = new Map(theirs.map((bus) => [bus, onBus(members, bus)]));
  const pairs = mine.flatMap((bus) => {
    const ids = [...onBus(found, bus)];
    return theirs.map((other) => ({ bus, other, shared: ids.filter((id) => knownOn.get(other)?.has(id)).length }));
  });
  const isSame = ({ bus, other }: { readonly bus: string; readonly other: string }): number => (bus === other ? 1 : 0);
  const ranked = pairs
    .filter(({ shared }) => shared > 0)
    .sort((a, b) => b.shared - a.shared || isSame(b) - isSame(a))
    .map(({ bus, other }) => [bus, other] as const);
  const names = new Map(oneToOne(ranked));
  const taken = new Set(names.values());
  // A bus that nobody recognises keeps its name, unless another one turned out to be the bus of that name.
  return (bus) => names.get(bus) ?? (taken.has(bus) ? `${bus} (other)` : bus);
}

/** The first letter that no sender has or had. */
export function freeLetter(taken: Iterable<string>): string {
  const used = new Set(taken);
  let place = 0;
  while (used.has(groupLetter(place))) place++;
  return groupLetter(place);
}

/** What each found group shares with each known sender, most first. */
function overlaps(found: readonly FoundGroup[], known: readonly KnownSender[]): [FoundGroup, KnownSender][] {
  const senderOf = new Map(known.flatMap((sender) => sender.members.map((member) => [memberKey(member), sender])));
  const order = new Map(known.map((sender, place) => [sender, place]));
  const pairs = found.flatMap((group, place) => {
    const counts = new Map<KnownSender, number>();
    for (const member of group.members) {
      const sender = senderOf.get(memberKey(member));
      if (sender) counts.set(sender, (counts.get(sender) ?? 0) + 1);
    }
    return [...counts].map(([sender, shared]) => ({ group, place, sender, at: order.get(sender) ?? 0, shared }));
  });
  return pairs
    .sort((a, b) => b.shared - a.shared || a.at - b.at || a.place - b.place)
    .map(({ group, sender }) => [group, sender]);
}

/**
 * Known senders with what is new. A group under a new letter takes its identifiers along (it split off); else an identifier stays with
 * the sender that it is known by, whatever one capture says, so that looking at captures in turn never shuffles letters.
 */
function learn(
  known: readonly KnownSender[],
  found: readonly FoundGroup[],
  letters: ReadonlyMap<string, string>,
): readonly KnownSender[] {
  const claimed = new Set(known.flatMap(({ members }) => members.map(memberKey)));
  const isNew = (group: FoundGroup): boolean => !known.some((sender) => sender.group === letters.get(group.group));
  const fresh = found.filter(isNew);
  const leaving = new Set(fresh.flatMap(({ members }) => members.map(memberKey)));
  const grown = known.map((sender): KnownSender => {
    const group = found.find((one) => letters.get(one.group) === sender.group);
    const added = (group?.members ?? []).filter((member) => !claimed.has(memberKey(member)));
    const stays = sender.members.filter((member) => !leaving.has(memberKey(member)));
    const same = added.length === 0 && stays.length === sender.members.length;
    return same ? sender : { ...sender, members: [...stays, ...added] };
  });
  const same = fresh.length === 0 && grown.every((sender, place) => sender === known[place]);
  const begun = fresh.map(({ group, members }) => ({ group: letters.get(group) as string, name: '', members }));
  return same ? known : [...grown, ...begun];
}

/**
 * Keeps the letters of known senders for the groups just found. A group that split: its larger part keeps the letter. Two that
 * merged: the letter of the one that brings more; the other stays taken. New groups get letters never used before.
 * Pure and deterministic; what it returns as known, given again with the same groups, changes nothing.
 */
export function keepLetters(found: readonly FoundGroup[], known: readonly KnownSender[]): KeptLetters {
  const members = found.flatMap((group) => group.members);
  const busOf = knownBuses(members, known);
  const renamed = found.map(({ group, members: own }): FoundGroup => ({
    group,
    members: own.map(({ bus, id, extended }) => ({ bus: busOf(bus), id, extended })),
  }));
  const letters = new Map(
    oneToOne(overlaps(renamed, known)).map(([group, sender]) => [group.group, sender.group] as const),
  );
  const taken = known.map(({ group }) => group);
  for (const { group } of renamed) {
    if (letters.has(group)) continue;
    const letter = freeLetter(taken);
    letters.set(group, letter);
    taken.push(letter);
  }
  return { letters, known: learn(known, renamed, letters) };
}
