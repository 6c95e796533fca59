/** Counts of right, wrong and missed findings of one drive against what is true of its payloads. */
import { verify } from '../../src/fields/checksums/judge.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import type { FrameFindings } from '../../src/fields/types.ts';
import { bitPositions, codedValue, placementLength, type Placement } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import type { MapChecksum, MapCounter, MapSignal, When } from '../../src/map/schema.ts';
import { flipRateSpans } from './fields-baseline.ts';
import { presenceOf } from './fields-truth-demo.ts';
import { VERDICTS, verdictsOf, type Verdict } from './fields-oracle.ts';
import { contentCameAgain } from './fields-tellable-guards.ts';
import { bordersOf } from './fields-tellable.ts';
import {
  crossesByte,
  orderOf,
  Sight,
  type Known,
  type KnownChecksum,
  type KnownCounter,
  type KnownDrive,
  type KnownField,
  type KnownFrame,
  type KnownStream,
  type Seen,
} from './fields-truth.ts';
import { causesOf, type Trouble } from './fields-trouble.ts';

export interface Tally {
  right: number;
  wrong: number;
  missed: number;
}
export const newTally = (): Tally => ({ right: 0, wrong: 0, missed: 0 });
export const precision = ({ right, wrong }: Tally): number => right / (right + wrong);
export const recall = ({ right, missed }: Tally): number => right / (right + missed);
export const f1 = ({ right, wrong, missed }: Tally): number => (2 * right) / (2 * right + wrong + missed);

export interface Claim {
  readonly confidence: number;
  readonly right: boolean;
  readonly onPage: boolean;
}

/** Spans apart by what they are: a wrong claim is counted by what it says of itself. */
const GROUPS = ['all', 'in a byte', 'little', 'big', 'signed', 'unsigned', 'outside pages', 'on pages'] as const;
export type SpanGroup = (typeof GROUPS)[number];

/** True spans by how often the value moved: what moved once leaves little to be told by. */
export const MOVES = ['once', '2 to 9', '10 to 99', '100 and more'] as const;
const movesGroup = (moves: number): (typeof MOVES)[number] =>
  moves <= 1 ? 'once' : moves < 10 ? '2 to 9' : moves < 100 ? '10 to 99' : '100 and more';

const newCard = () => ({
  vehicles: 0,
  /** Wrong: never counted, as a wrong claim has no true number of moves. */
  byMoves: Object.fromEntries(MOVES.map((group) => [group, newTally()])) as Record<(typeof MOVES)[number], Tally>,
  spans: Object.fromEntries(GROUPS.map((group) => [group, newTally()])) as Record<SpanGroup, Tally>,
  /** The published rule on frames without pages, and ours on the same. */
  baseline: newTally(),
  unpaged: newTally(),
  /** The same over the fields that this capture lets anybody tell from their neighbours; and what became of the others. */
  tellable: newTally(),
  neverParted: newTally(),
  hardlyParted: newTally(),
  /** Why those outside pages were missed that the capture lets anybody tell. */
  oracle: Object.fromEntries(VERDICTS.map((verdict) => [verdict, 0])) as Record<Verdict, number>,
  paged: newTally(),
  counters: newTally(),
  /** Step, modulus and pace of counters found in place. */
  counterRules: newTally(),
  checksums: newTally(),
  /** Guarded by a rule: those whose rule holds on the other drive, and those whose does not or was not found. */
  otherDrive: newTally(),
  selectors: newTally(),
  /** Crossing fields of which most bits are in one crossing claim: by its order; missed where there is no such claim. */
  order: newTally(),
  /** Fields with a sign that went negative, of those exactly found: by the coding said. */
  sign: newTally(),
  /** Numbers without a sign, of those exactly found: said to have none. */
  noSign: newTally(),
  coding: newTally(),
  mac: newTally(),
  unsolved: newTally(),
  /** The same over those that this capture lets anybody tell from each other. */
  macTold: newTally(),
  unsolvedTold: newTally(),
  /** Vehicles that hold ciphertext or noise: frames that do, claims that touch it, and the spans found on these vehicles. */
  cipher: { frames: 0, claims: 0, spans: newTally() },
  claims: [] as Claim[],
  troubles: [] as Trouble[],
});
export type Scorecard = ReturnType<typeof newCard>;
export const newScorecard = newCard;

const SHARE_PASSED = 0.999;

export type FoundField = Known & { readonly signal: MapSignal & { readonly why: string } };

interface Found {
  readonly fields: readonly FoundField[];
  readonly counters: readonly (Known & { readonly counter: MapCounter })[];
  readonly checksums: readonly (Known & { readonly checksum: MapChecksum })[];
  readonly selectors: readonly Known[];
}

function foundIn({ fields, counters, checksums, selectors }: FrameFindings): Found {
  const known = (each: object & { when?: When }): Known => ({
    place: each as Placement,
    on: presenceOf(each.when, [...selectors]),
  });
  return {
    fields: fields.map((signal) => ({ ...known(signal), signal })),
    counters: counters.map((counter) => ({ ...known(counter), counter })),
    checksums: checksums.map((checksum) => ({ ...known(checksum), checksum })),
    selectors: selectors.map(known),
  };
}

const keys = (all: readonly Seen[]): Set<string> => new Set(all.map(({ key }) => key));

function compare(found: readonly Seen[], truth: readonly Seen[], tally: Tally): void {
  const [claimed, wanted] = [keys(found), keys(truth)];
  for (const key of claimed) tally[wanted.has(key) ? 'right' : 'wrong']++;
  for (const key of wanted) if (!claimed.has(key)) tally.missed++;
}

const add = (to: Tally, { right, wrong, missed }: Tally): void => {
  to.right += right;
  to.wrong += wrong;
  to.missed += missed;
};

function groupsOf(seen: Seen, coding: string): SpanGroup[] {
  return [
    'all',
    crossesByte(seen) ? orderOf(seen) : 'in a byte',
    isSigned(coding) ? 'signed' : 'unsigned',
    seen.of.on.length > 0 ? 'on pages' : 'outside pages',
  ];
}

type SeenField = Seen<KnownField>;
type SeenClaim = Seen<FoundField>;

function scoreSpans(claims: readonly SeenClaim[], truth: readonly SeenField[], sight: Sight, card: Scorecard): void {
  const wanted = new Map(truth.map((each) => [each.key, each]));
  const claimed = keys(claims);
  for (const each of truth) {
    card.byMoves[movesGroup(sight.movesOf(each))][claimed.has(each.key) ? 'right' : 'missed']++;
    for (const group of groupsOf(each, each.of.coding)) card.spans[group][claimed.has(each.key) ? 'right' : 'missed']++;
  }
  for (const each of claims) {
    const right = wanted.has(each.key);
    if (!right) for (const group of groupsOf(each, each.of.signal.coding)) card.spans[group].wrong++;
    const { confidence, when } = each.of.signal;
    card.claims.push({ confidence, right, onPage: when !== null });
  }
}

/** First bit and how many, for a person. */
const spotOf = ({ bits }: Seen): string => `${bits[0]}+${bits.length}`;

const common = (a: Seen, b: Seen): number => a.bits.filter((at) => b.bits.includes(at)).length;

function scoreOrder(claims: readonly SeenClaim[], truth: readonly SeenField[], tally: Tally): void {
  for (const each of truth.filter(crossesByte)) {
    const most = claims
      .filter((claim) => crossesByte(claim) && 2 * common(claim, each) > Math.max(claim.bits.length, each.bits.length))
      .sort((a, b) => common(b, each) - common(a, each))[0];
    if (most) tally[orderOf(most) === orderOf(each) ? 'right' : 'wrong']++;
    else tally.missed++;
  }
}

const isSigned = (coding: string): boolean => coding === 'signed' || coding === 'sign-magnitude';

function wentNegative(each: SeenField, sight: Sight): boolean {
  const { coding, place } = each.of;
  const bits = placementLength(place);
  return isSigned(coding) && sight.valuesOf(each).some((raw) => codedValue(raw, coding, bits) < 0);
}

function scoreCodings(
  claims: readonly SeenClaim[],
  truth: readonly SeenField[],
  sight: Sight,
  card: Scorecard,
  at: string,
): void {
  const claimed = new Map(claims.map((each) => [each.key, each]));
  for (const each of truth) {
    const said = claimed.get(each.key)?.of.signal.coding;
    if (said === undefined || each.of.kind !== 'number') continue;
    const verdict = said === each.of.coding ? 'right' : 'wrong';
    if (each.of.coding === 'float' || each.of.coding === 'bcd') card.coding[verdict]++;
    const isPlain = each.of.coding === 'unsigned';
    if (isPlain) card.noSign[isSigned(said) ? 'wrong' : 'right']++;
    if (!isPlain && !wentNegative(each, sight)) continue;
    if (!isPlain) card.sign[verdict]++;
    if (verdict === 'wrong' && (!isPlain || isSigned(said)))
      card.troubles.push({
        what: 'sign',
        cause: `${each.of.coding} called ${said}`,
        model: each.of.model,
        at,
        text: '',
      });
  }
}

const isRule = ({ method }: MapChecksum): boolean => method !== 'mac' && method !== 'unsolved';

function passes(rule: Found['checksums'][number], counters: Found['counters'], other: KnownStream): boolean {
  const sight = new Sight(other.stream);
  const { rows } = sight.rowsOf(rule.on);
  const { stride, payload } = other.stream;
  const own = new Uint8Array(rows.length * stride);
  rows.forEach((row, to) => own.set(payload.subarray(row * stride, (row + 1) * stride), to * stride));
  const all = rowsOfStream({ ...other.stream, count: rows.length, payload: own });
  const { passed, checked } = verify(
    rule.checksum,
    counters.map(({ counter }) => counter),
    all,
  );
  return checked > 0 && passed >= SHARE_PASSED * checked;
}

/** Which byte of a tag without a rule is its highest, no capture shows: it is known by its bits alone. */
const withoutOrder = <T extends Seen>(each: T): T => ({
  ...each,
  key: `${[...each.bits].sort((a, b) => a - b).join()}@${each.rowsKey}`,
});

function scoreChecksums(
  found: Found,
  truth: readonly Seen<KnownChecksum>[],
  sight: Sight,
  other: KnownStream | undefined,
  card: Scorecard,
  at: string,
): void {
  const claims = sight.seeAll(found.checksums);
  const rules = claims.filter(({ of }) => isRule(of.checksum));
  const trueRules = truth.filter(({ of }) => of.kind === 'rule');
  compare(rules, trueRules, card.checksums);
  for (const each of trueRules) {
    const own = rules.find(({ key }) => key === each.key);
    if (!other) continue;
    const holds = own ? passes(own.of, found.counters, other) : false;
    card.otherDrive[holds ? 'right' : own ? 'wrong' : 'missed']++;
    const said = claims.find((claim) => common(claim, each) > 0)?.of.checksum.method;
    const cause = own
      ? 'fails on the other drive'
      : said
        ? `found as ${said} elsewhere or on other frames`
        : 'not found';
    if (!holds)
      card.troubles.push({
        what: 'checksum',
        cause,
        model: each.of.model,
        at,
        text: spotOf(each),
      });
  }
  for (const claim of rules.filter(({ key }) => !trueRules.some((each) => each.key === key)))
    card.troubles.push({
      what: 'checksum',
      cause: 'claimed and not there',
      model: claim.of.checksum.method,
      at,
      text: spotOf(claim),
    });
  for (const kind of ['mac', 'unsolved'] as const) {
    const own = truth.filter(({ of }) => of.kind === kind).map(withoutOrder);
    const said = claims.filter(({ of }) => of.checksum.method === kind).map(withoutOrder);
    compare(said, own, card[kind]);
    const untold = own.filter((each) => !contentCameAgain(each, sight));
    const isUntold = ({ key }: Seen): boolean => untold.some((each) => each.key === key);
    compare(
      said.filter((each) => !isUntold(each)),
      own.filter((each) => !isUntold(each)),
      card[`${kind}Told`],
    );
    for (const each of own.filter(({ key }) => !said.some((claim) => claim.key === key))) {
      const instead = claims.find((claim) => common(claim, each) > 0)?.of.checksum.method;
      card.troubles.push({
        what: kind,
        cause: instead ? `called ${instead}` : 'not named',
        model: each.of.model,
        at,
        text: `${spotOf(each)}${untold.includes(each) ? ' its content never came again' : ''}`,
      });
    }
  }
}

function scoreCounters(
  found: Found,
  truth: readonly Seen<KnownCounter>[],
  sight: Sight,
  card: Scorecard,
  at: string,
): void {
  const claims = sight.seeAll(found.counters);
  compare(claims, truth, card.counters);
  for (const each of truth) {
    const own = claims.find(({ key }) => key === each.key)?.of.counter;
    const { step, every, min, max } = each.of;
    const text = spotOf(each);
    const model = `step ${step} every ${every} ${min}..${max}${each.of.on.length > 0 ? ' on pages' : ''}`;
    if (!own) card.troubles.push({ what: 'counter', cause: 'missed', model, at, text });
    else card.counterRules[isSameRule(own, each) ? 'right' : 'wrong']++;
    if (own && !isSameRule(own, each))
      card.troubles.push({
        what: 'counter',
        cause: `called step ${own.step} every ${own.every} ${own.min}..${own.max}`,
        model,
        at,
        text,
      });
  }
  for (const claim of claims.filter(({ key }) => !truth.some((each) => each.key === key)))
    card.troubles.push({
      what: 'counter',
      cause: 'claimed and not there',
      model: '',
      at,
      text: spotOf(claim),
    });
}

/** Low bits that never moved are no part of what is seen; a step and its complement to the modulus are the same rule. */
function isSameRule(found: MapCounter, truth: Seen<KnownCounter>): boolean {
  const { place, step, every, min, max } = truth.of;
  const unit = 2 ** bitPositions(place).indexOf(truth.bits[0] as number);
  const [least, most] = [Math.floor(min / unit), Math.floor(max / unit)];
  const modulus = most - least + 1;
  const within = (by: number): number => ((by % modulus) + modulus) % modulus;
  const same = within(found.step) === within(step / unit);
  return found.min === least && found.max === most && found.every === every && same;
}

/** Whether the frame holds any. */
function scoreCipher(found: Found, frame: KnownFrame, card: Scorecard, at: string): boolean {
  if (frame.cipher.length === 0) return false;
  const bits = new Set(frame.cipher.flatMap(bitPositions));
  const rules = found.checksums.filter(({ checksum }) => isRule(checksum));
  const touching = [...found.fields, ...found.counters, ...found.selectors, ...rules].filter(({ place }) =>
    bitPositions(place).some((position) => bits.has(position)),
  );
  card.cipher.frames++;
  card.cipher.claims += touching.length;
  for (const { place } of touching)
    card.troubles.push({ what: 'cipher', cause: 'claimed', model: '', at, text: JSON.stringify(place.lsb) });
  return true;
}

/** Claims that touch nothing but fields that cannot be told are left out, right or wrong. */
function scoreTellable(
  claims: readonly Seen[],
  truth: readonly SeenField[],
  frame: KnownFrame,
  sight: Sight,
  card: Scorecard,
): void {
  const claimed = keys(claims);
  const borders = bordersOf(truth, sight);
  const untold = truth.filter((each) => borders.get(each) !== 'told');
  for (const each of untold)
    card[borders.get(each) === 'never parted' ? 'neverParted' : 'hardlyParted'][
      claimed.has(each.key) ? 'right' : 'missed'
    ]++;
  const told = truth.filter((each) => borders.get(each) === 'told');
  const isOfUntold = (claim: Seen): boolean =>
    untold.some((each) => common(claim, each) > 0) && !told.some((each) => common(claim, each) > 0);
  compare(
    claims.filter((claim) => !isOfUntold(claim)),
    told,
    card.tellable,
  );
  for (const [each, verdict] of verdictsOf(truth, claimed, frame, sight))
    if (borders.get(each) === 'told') card.oracle[verdict]++;
}

const baselineClaims = (stream: Stream, sight: Sight): Seen[] =>
  sight.seeAll(flipRateSpans(stream).map((place) => ({ place, on: [] })));

const nameOf = ({ bus, id }: Stream): string => `${bus} 0x${id.toString(16).toUpperCase()}`;

function scoreStream(
  known: KnownStream,
  other: KnownStream | undefined,
  findings: FrameFindings,
  card: Scorecard,
  drive: string,
): boolean {
  const { frame, stream } = known;
  const sight = new Sight(stream);
  const found = foundIn(findings);
  const at = `${drive}, ${nameOf(stream)}`;
  const claims = sight.seeAll(found.fields);
  const truth = sight.seeAll(frame.fields).filter(({ of }) => of.kind !== 'text');
  scoreSpans(claims, truth, sight, card);
  card.troubles.push(
    ...causesOf(claims, truth, [...found.counters, ...found.checksums, ...found.selectors], sight, at),
  );
  if (frame.selectors.length === 0) {
    compare(claims, truth, card.unpaged);
    scoreTellable(claims, truth, frame, sight, card);
    compare(baselineClaims(stream, sight), truth, card.baseline);
  } else compare(claims, truth, card.paged);
  scoreOrder(claims, truth, card.order);
  scoreCodings(claims, truth, sight, card, at);
  scoreCounters(found, sight.seeAll(frame.counters), sight, card, at);
  scoreChecksums(found, sight.seeAll(frame.checksums), sight, other, card, at);
  scoreSelectors(sight.seeAll(found.selectors), sight.seeAll(frame.selectors), card, at);
  return scoreCipher(found, frame, card, at);
}

function scoreSelectors(claims: readonly Seen[], truth: readonly Seen[], card: Scorecard, at: string): void {
  compare(claims, truth, card.selectors);
  for (const each of truth.filter(({ key }) => !claims.some((claim) => claim.key === key)))
    card.troubles.push({
      what: 'selector',
      cause: claims.length > 0 ? 'another claimed' : 'missed',
      model: each.of.on.length > 0 ? 'nested' : '',
      at,
      text: spotOf(each),
    });
  for (const claim of claims.filter(({ key }) => !truth.some((each) => each.key === key)))
    card.troubles.push({ what: 'selector', cause: 'claimed and not there', model: '', at, text: spotOf(claim) });
}

/** Adds one drive's findings, in the order of its streams, to the card. */
export function scoreDrive(drive: KnownDrive, findings: readonly FrameFindings[], card: Scorecard): void {
  const again = drive.again();
  const otherOf = ({ stream: { bus, id, extended } }: KnownStream): KnownStream | undefined =>
    again.find(({ stream }) => stream.bus === bus && stream.id === id && stream.extended === extended);
  const own = newCard();
  let ciphered = false;
  drive.streams.forEach((known, index) => {
    if (scoreStream(known, otherOf(known), findings[index] as FrameFindings, own, drive.name)) ciphered = true;
  });
  if (ciphered) add(own.cipher.spans, own.spans.all);
  addCard(card, own);
  card.vehicles++;
}

/** Adds one card's counts to another's. */
export function addCard(to: Scorecard, from: Scorecard): void {
  for (const group of GROUPS) add(to.spans[group], from.spans[group]);
  for (const group of MOVES) add(to.byMoves[group], from.byMoves[group]);
  const tallies = [
    'baseline',
    'unpaged',
    'tellable',
    'neverParted',
    'hardlyParted',
    'paged',
    'counters',
    'counterRules',
    'checksums',
    'otherDrive',
    'selectors',
    'order',
    'sign',
    'noSign',
    'coding',
    'mac',
    'unsolved',
    'macTold',
    'unsolvedTold',
  ] as const;
  for (const name of tallies) add(to[name], from[name]);
  for (const verdict of VERDICTS) to.oracle[verdict] += from.oracle[verdict];
  to.cipher.frames += from.cipher.frames;
  to.cipher.claims += from.cipher.claims;
  add(to.cipher.spans, from.cipher.spans);
  to.claims.push(...from.claims);
  to.troubles.push(...from.troubles);
  to.vehicles += from.vehicles;
}
