/**
 * Pairs of fields said to show the same value, against the truth of what each shows. A found field stands for the true one that holds its most
 * significant bit and four fifths of its bits; pairs with a found field that stands for none are counted apart, for there is no truth of them.
 */
import { findSameValues } from '../../src/fields/same-value/find.ts';
import type { FrameFindings } from '../../src/fields/types.ts';
import { findFields } from '../../src/fields/find.ts';
import type { Placement } from '../../src/frames/bits.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { driveOf, type Case } from './fields-conditions.ts';
import { presenceOf } from './fields-truth-demo.ts';
import { Sight, type KnownDrive, type KnownField, type Seen } from './fields-truth.ts';

const SHARE_LEAST = 0.8;

export const newSameCard = () => ({
  vehicles: 0,
  groups: 0,
  right: 0,
  wrong: 0,
  /** So closely tied by what is simulated that it counts neither way. */
  kin: 0,
  /** With a found field that is no true one. */
  unclear: 0,
  /** Pairs of true fields that show the same and were both found exactly: those said, of all. */
  said: 0,
  missed: 0,
  /** The same of those without noise or dead band of their own that moved 30 times or more. */
  clearSaid: 0,
  clearMissed: 0,
  troubles: [] as string[],
});
export type SameCard = ReturnType<typeof newSameCard>;

interface Standing {
  readonly key: string;
  readonly truth: Seen<KnownField> | null;
  readonly exact: boolean;
  readonly moves: number;
}

function movesOf(sight: Sight, seen: Seen): number {
  const values = sight.valuesOf(seen);
  return values.reduce((moves, value, k) => moves + (k > 0 && value !== values[k - 1] ? 1 : 0), 0);
}

function standingsOf(drive: KnownDrive, findings: readonly FrameFindings[]): Standing[] {
  return drive.streams.flatMap(({ frame, stream }, index) => {
    const sight = new Sight(stream);
    const truth = sight.seeAll(frame.fields).map((one) => ({ one, rows: new Set(one.rows) }));
    const { bus, id, fields, selectors } = findings[index] as FrameFindings;
    return fields.map((field) => {
      const key = `${bus} ${id} ${field.name}`;
      const found = sight.see({ place: field as Placement, on: presenceOf(field.when, [...selectors]) });
      if (!found) return { key, truth: null, exact: false, moves: 0 };
      const stands = truth.find(({ one, rows }) => {
        const shared = found.bits.filter((at) => one.bits.includes(at)).length;
        const top = one.bits.includes(found.bits.at(-1) as number);
        const common = found.rows.filter((row) => rows.has(row)).length;
        return top && shared >= SHARE_LEAST * found.bits.length && common > found.rows.length / 2;
      });
      const exact = stands?.one.key === found.key;
      return { key, truth: stands?.one ?? null, exact, moves: exact && field.length <= 53 ? movesOf(sight, found) : 0 };
    });
  });
}

const tableOf = (drive: KnownDrive): FrameTable => {
  const streams = drive.streams.map(({ stream }, index) => ({ ...stream, index }));
  const endUs = Math.max(...streams.map(({ timeUs, count }) => timeUs[count - 1] ?? 0));
  return { streams, endUs, origin: { kind: 'relative' } } as unknown as FrameTable;
};

const pairKey = (a: string, b: string): string => [a, b].sort().join(' | ');

function scorePair(a: Standing, b: Standing, card: SameCard, at: string): void {
  const [one, other] = [a.truth?.of, b.truth?.of];
  if (!one || !other || one === other) card.unclear++;
  else if (one.quantity !== null && one.quantity === other.quantity) card.right++;
  else if (one.kin !== null && one.kin === other.kin) card.kin++;
  else {
    card.wrong++;
    card.troubles.push(`${at}: said and not so: ${a.key} (${one.model}), ${b.key} (${other.model})`);
  }
}

const MOVES_LEAST = 30;

function scoreMissed(standings: readonly Standing[], said: ReadonlySet<string>, card: SameCard, at: string): void {
  const exact = standings.filter((each) => each.exact && each.truth?.of.quantity);
  exact.forEach((a, k) => {
    for (const b of exact.slice(0, k)) {
      const [one, other] = [a.truth?.of as KnownField, b.truth?.of as KnownField];
      if (one.quantity !== other.quantity || one === other) continue;
      const isSaid = said.has(pairKey(a.key, b.key));
      const isClear = !one.blurred && !other.blurred && Math.min(a.moves, b.moves) >= MOVES_LEAST;
      card[isSaid ? 'said' : 'missed']++;
      if (isClear) card[isSaid ? 'clearSaid' : 'clearMissed']++;
      if (isClear && !isSaid) card.troubles.push(`${at}: missed: ${a.key} (${one.model}), ${b.key} (${other.model})`);
    }
  });
}

/** Adds one vehicle's pairs to the card. */
export async function scoreSameValues(each: Case, seed: number, card: SameCard): Promise<void> {
  const drive = driveOf(each, seed);
  const findings = await findFields(
    drive.streams.map(({ stream }) => stream),
    {},
    {},
  );
  const { groups } = await findSameValues({ table: tableOf(drive), findings, seed: 1 }, {});
  const standings = standingsOf(drive, findings);
  const byKey = new Map(standings.map((standing) => [standing.key, standing]));
  const said = new Set<string>();
  for (const { source, members } of groups) {
    const all = [source, ...members.map(({ place }) => place)].map(({ bus, id, field }) => `${bus} ${id} ${field}`);
    all.forEach((a, k) => {
      for (const b of all.slice(0, k)) {
        said.add(pairKey(a, b));
        scorePair(byKey.get(a) as Standing, byKey.get(b) as Standing, card, drive.name);
      }
    });
  }
  scoreMissed(standings, said, card, drive.name);
  card.groups += groups.length;
  card.vehicles++;
}
