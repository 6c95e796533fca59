/**
 * The longest a frame can take from being asked for to its end on the wire: worst-case response time by Davis, Burns, Bril and
 * Lukkien 2007 ("Controller Area Network (CAN) schedulability analysis: refuted, revisited and revised"), equations 7 to 13, over all
 * instances of the busy period. Needs modules that always offer their lowest identifier, and never replace a waiting frame.
 */
export interface BoundedMessage {
  readonly periodUs: number;
  /** Longest time from release to asking. */
  readonly jitterUs: number;
  /** Longest time on the wire, those between frames included. */
  readonly wireUs: number;
}

const sum = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);

/** Repeats until it no longer grows; Infinity where the set cannot be scheduled. */
function settle(start: number, next: (value: number) => number): number {
  let value = start;
  for (let round = 0; round < 10_000; round++) {
    const grown = next(value);
    if (grown === value) return value;
    value = grown;
  }
  return Infinity;
}

/** `messages` from the lowest identifier to the highest. Microseconds. */
export function longestResponseUs(messages: readonly BoundedMessage[], place: number, bitUs: number): number {
  const own = messages[place] as BoundedMessage;
  const higher = messages.slice(0, place);
  const blocking = Math.max(0, ...messages.slice(place + 1).map(({ wireUs }) => wireUs));
  const busy = settle(
    own.wireUs,
    (t) => blocking + sum([...higher, own].map((m) => Math.ceil((t + m.jitterUs) / m.periodUs) * m.wireUs)),
  );
  const instances = Math.ceil((busy + own.jitterUs) / own.periodUs);
  let longest = 0;
  for (let q = 0; q < instances; q++) {
    const waits = settle(
      blocking + q * own.wireUs,
      (w) =>
        blocking + q * own.wireUs + sum(higher.map((m) => Math.ceil((w + m.jitterUs + bitUs) / m.periodUs) * m.wireUs)),
    );
    longest = Math.max(longest, own.jitterUs + waits - q * own.periodUs + own.wireUs);
  }
  return longest;
}
