/**
 * Where the data of each identifier lies in an answer to a request for several (ISO 14229-1, service 22): the answer repeats each identifier before
 * its data and says no lengths. An identifier's data is as long each time, so what one answer leaves open another settles; what stays open is counted
 * and not guessed. A server leaves out identifiers that it does not know.
 */
export interface Asked {
  /** As in the request, in its order. */
  readonly identifiers: readonly number[];
  /** The answer behind its service byte. */
  readonly data: Uint8Array;
}

export interface Part {
  readonly identifier: number;
  readonly data: Uint8Array;
}

/** Ways looked at before an answer is called open. */
const WAYS_MOST = 64;

const identifierAt = (data: Uint8Array, at: number): number =>
  at + 1 < data.length ? ((data[at] as number) << 8) | (data[at + 1] as number) : -1;

/** All ways to cut an answer, most identifiers first; lengths that are known are kept to. */
function waysOf({ identifiers, data }: Asked, known: ReadonlyMap<number, number>): Part[][] {
  const ways: Part[][] = [];
  const goOn = (way: readonly Part[], next: number, at: number): void => {
    if (ways.length > WAYS_MOST) return;
    if (at === data.length) {
      if (way.length > 0) ways.push([...way]);
      return;
    }
    for (let which = next; which < identifiers.length; which++) {
      const identifier = identifiers[which] as number;
      if (identifierAt(data, at) !== identifier) continue;
      const length = known.get(identifier);
      const longest = data.length - at - 2;
      const [from, to] = length === undefined ? [1, longest] : [length, length];
      for (let bytes = from; bytes <= Math.min(to, longest); bytes++)
        goOn([...way, { identifier, data: data.subarray(at + 2, at + 2 + bytes) }], which + 1, at + 2 + bytes);
    }
  };
  goOn([], 0, 0);
  return ways;
}

/** The one way that names the most identifiers; null where several do. */
function onlyWay(ways: readonly Part[][]): Part[] | null {
  const most = Math.max(0, ...ways.map((way) => way.length));
  const best = ways.filter((way) => way.length === most);
  return best.length === 1 && ways.length <= WAYS_MOST ? (best[0] as Part[]) : null;
}

/** Lengths that hold in every way of some answer; an identifier seen with several lengths has none. */
function learn(asked: readonly Asked[], known: ReadonlyMap<number, number>): Map<number, number> {
  const seen = new Map<number, Set<number>>();
  for (const each of asked)
    for (const { identifier, data } of onlyWay(waysOf(each, known)) ?? [])
      seen.set(identifier, (seen.get(identifier) ?? new Set()).add(data.length));
  return new Map(
    [...seen].flatMap(([identifier, lengths]) =>
      lengths.size === 1 ? [[identifier, [...lengths][0] as number] as const] : [],
    ),
  );
}

/** The parts of each answer; null where it can be cut in several ways or none. */
export function splitAnswers(asked: readonly Asked[]): readonly (readonly Part[] | null)[] {
  // What was asked for alone is beyond doubt.
  let known = learn(
    asked.filter(({ identifiers }) => identifiers.length === 1),
    new Map(),
  );
  for (let round = 0; round < 4; round++) {
    const more = learn(asked, known);
    if (more.size <= known.size) break;
    known = more;
  }
  return asked.map((each) => onlyWay(waysOf(each, known)) ?? onlyWay(waysOf(each, new Map())));
}
