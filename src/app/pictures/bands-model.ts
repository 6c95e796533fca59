/**
 * The bands beside the weave: what the finders propose for one identifier, joined with what the person has named,
 * placed or refused. Fields that share bits on different pages become one band of pages. Pure view-model.
 */
import { blankSignal } from '../../map/blank-signal.ts';
import { isByHand } from '../../map/evidence.ts';
import type { Coding, Placement } from '../../frames/bits.ts';
import { bitPositions } from '../../frames/bits.ts';
import type { FieldFinding, FrameFindings } from '../../fields/types.ts';
import { codingSchema, type MapChecksum, type MapCounter, type MapSignal, type When } from '../../map/schema.ts';
import { placeWords } from '../../fields/place-words.ts';
import { checksumWords, counterWords, countWords, kindWords, placementKey, unclaimedWords } from './bands-words.ts';

type Glyph = 'wedge' | 'bar' | 'stair' | 'triangle' | 'ticks' | 'dots' | 'strips' | 'text' | 'dashed';

export interface Band {
  readonly key: string;
  readonly glyph: Glyph;
  readonly name: string;
  /** A place name or a guess is set in italics' company: only a name given by a person is "named". */
  readonly named: boolean;
  /** Kind, order, coding. */
  readonly words: string;
  /** The finder's reason; italic. */
  readonly why: string;
  readonly placement: Placement;
  readonly when: When;
  /** The value behind the band, where it is one: what a trace shows and a name is given to. */
  readonly value: MapSignal | null;
  /** The person's signal on these bits. */
  readonly signal: MapSignal | null;
  readonly refused: boolean;
  readonly byHand: boolean;
  /** The bands of the pages, where bits change meaning with a selector. */
  readonly pages: readonly Band[];
}

/** Whether a counter or a checksum was found on the bits. */
export const isGuard = ({ glyph }: Pick<Band, 'glyph'>): boolean => glyph === 'ticks' || glyph === 'dots';

export interface BandQuestion {
  readonly findings: FrameFindings | null;
  /** The person's signals of this identifier. */
  readonly signals: readonly MapSignal[];
  readonly decisions: readonly HandMade[];
}

interface HandMade {
  readonly kind: 'field' | 'refused' | 'rule';
  readonly placement: Placement;
  readonly coding?: unknown;
  readonly counter?: MapCounter | undefined;
  readonly checksum?: MapChecksum | undefined;
}

const codingIn = ({ coding }: HandMade): Coding | null => codingSchema.safeParse(coding).data ?? null;

const GLYPHS = { number: 'wedge', flag: 'bar', states: 'stair', text: 'text' } as const;
const plain = { named: false, refused: false, byHand: false, pages: [], signal: null, value: null } as const;

/** Bands from top to bottom. */
export function bandsOf(question: BandQuestion): Band[] {
  const { findings, signals, decisions } = question;
  const named = new Map(signals.map((signal) => [placementKey(signal, signal.when), signal]));
  const placed = new Map(
    decisions.filter((d) => d.kind === 'field').map((d) => [placementKey(d.placement), codingIn(d)] as const),
  );
  const bands: Band[] = findings ? foundBands(findings, named, placed) : [];
  const seen = new Set(bands.flatMap((band) => [band.key, ...band.pages.map((page) => page.key)]));
  for (const [key, signal] of named) if (!seen.has(key)) bands.push(signalBand(signal));
  for (const decision of decisions) {
    if (decision.kind === 'rule') bands.push(...ruleBands(decision).filter(({ key }) => !seen.has(key)));
    else if (decision.kind === 'refused') bands.push(refusedBand(decision.placement, findings));
    else if (!seen.has(placementKey(decision.placement))) bands.push(handBand(decision.placement, codingIn(decision)));
  }
  // What was refused stands before what the finders then have there: the hands find it where it was.
  return bands.sort((a, b) => topOrder(a) - topOrder(b) || Number(b.refused) - Number(a.refused));
}

const topOrder = (band: Band): number =>
  Math.min(...bitPositions(band.placement).map((bit) => (bit >> 3) * 8 + 7 - (bit & 7)));

function foundBands(
  findings: FrameFindings,
  named: Map<string, MapSignal>,
  placed: ReadonlyMap<string, Coding | null>,
): Band[] {
  const fields = findings.fields.map((field) => fieldBand(field, named, placed));
  const single = fields.filter((band) => !band.when);
  return [...single, ...gatherPages(fields.filter((band) => band.when)), ...guardBands(findings)];
}

function fieldBand(
  field: FieldFinding,
  named: Map<string, MapSignal>,
  placed: ReadonlyMap<string, Coding | null>,
): Band {
  const key = placementKey(field, field.when);
  const signal = named.get(key) ?? null;
  // How a person reads the bits they placed stands above how a finder would.
  const coding = placed.get(placementKey(field));
  const shown = signal ?? (coding ? { ...field, coding } : field);
  return {
    ...plain,
    key,
    glyph: GLYPHS[shown.kind],
    name: signal?.name ?? placeWords(field),
    named: signal !== null,
    words: kindWords(shown),
    why: field.why,
    placement: field,
    when: field.when,
    value: shown,
    signal,
    byHand: placed.has(placementKey(field)),
  };
}

function signalBand(signal: MapSignal): Band {
  return {
    ...plain,
    key: placementKey(signal, signal.when),
    glyph: GLYPHS[signal.kind],
    name: signal.name,
    named: true,
    words: kindWords(signal),
    why: 'Placed and named by hand; no finder proposes these bits.',
    placement: signal,
    when: signal.when,
    value: signal,
    signal,
    byHand: true,
  };
}

/** A field placed by hand that the finders have not looked at yet. */
function handBand(placement: Placement, coding: Coding | null): Band {
  const field = fieldAt(placement, coding ?? 'unsigned');
  return {
    ...plain,
    key: placementKey(placement),
    glyph: GLYPHS[field.kind],
    name: placeWords(placement),
    words: kindWords(field),
    why: 'Placed by hand.',
    placement,
    when: null,
    value: field,
    byHand: true,
  };
}

function refusedBand(placement: Placement, findings: FrameFindings | null): Band {
  const key = placementKey(placement);
  const differs = findings?.disagreements?.find((one) => one.kind === 'refused' && placementKey(one.placement) === key);
  return {
    ...plain,
    key: `refused ${placementKey(placement)}`,
    glyph: 'dashed',
    name: placeWords(placement),
    words: 'refused',
    why: ['Refused by hand; not proposed again.', differs?.words ?? ''].filter(Boolean).join(' '),
    placement,
    when: null,
    refused: true,
    byHand: true,
  };
}

/** A value with no meaning yet on bits that a person chose. */
export function fieldAt(placement: Placement, coding: MapSignal['coding'] = 'unsigned'): MapSignal {
  const kind = bitPositions(placement).length === 1 ? 'flag' : 'number';
  return { ...blankSignal(placement, placeWords(placement)), coding, kind, confidence: 0.5 };
}

const overlaps = (a: Placement, b: Placement): boolean => {
  const bits = new Set(bitPositions(a));
  return bitPositions(b).some((bit) => bits.has(bit));
};

/** Fields of several pages over the same bits, gathered into one band each. */
function gatherPages(bands: readonly Band[]): Band[] {
  const groups: Band[][] = [];
  for (const band of bands) {
    const touching = groups.filter((group) => group.some((other) => overlaps(other.placement, band.placement)));
    const merged = [...touching.flat(), band];
    groups.splice(0, groups.length, ...groups.filter((group) => !touching.includes(group)), merged);
  }
  return groups.map((group) => (group.length === 1 ? (group[0] as Band) : pagesBand(group)));
}

function pagesBand(pages: readonly Band[]): Band {
  const first = pages[0] as Band;
  const bits = [...new Set(pages.flatMap((page) => bitPositions(page.placement)))].sort((a, b) => a - b);
  const placement = coverOf(bits);
  const selectors = [...new Set(pages.flatMap((page) => Object.keys(page.when ?? {})))];
  const distinct = new Set(pages.map((page) => JSON.stringify(page.when))).size;
  return {
    ...plain,
    key: `pages ${placementKey(placement)}`,
    glyph: 'strips',
    name: placeWords(placement),
    words: `${countWords(distinct, 'page')}, told by ${selectors.join(' and ')}`,
    why: first.why,
    placement,
    when: null,
    pages,
  };
}

/** The least run of whole threads that covers the bits, as one little-endian piece. */
function coverOf(bits: readonly number[]): Placement {
  const first = bits[0] as number;
  const last = bits.at(-1) as number;
  return { lsb: { byte: first >> 3, bit: first & 7 }, length: last - first + 1, order: 'little' };
}

type Unclaimed = FrameFindings['unclaimed'][number];

const isWholeBytes = ({ lsb, length, order, continues }: Unclaimed): boolean =>
  lsb.bit === 0 && length % 8 === 0 && (length === 8 || order === 'little') && !continues?.length;

/** Neighbouring whole bytes that are left over for the same reason, as one: long payloads have dozens. */
export function joinedBytes(unclaimed: readonly Unclaimed[]): Unclaimed[] {
  const joined: Unclaimed[] = [];
  for (const item of [...unclaimed].sort((a, b) => a.lsb.byte - b.lsb.byte)) {
    const before = joined.at(-1);
    const joins =
      before &&
      isWholeBytes(before) &&
      isWholeBytes(item) &&
      before.reason === item.reason &&
      before.why === item.why &&
      before.lsb.byte + before.length / 8 === item.lsb.byte;
    if (joins) joined[joined.length - 1] = { ...before, order: 'little', length: before.length + item.length };
    else joined.push(item);
  }
  return joined;
}

function guardBands(findings: FrameFindings): Band[] {
  return [
    ...findings.selectors.map((s) => other('triangle', s.name, `selector, ${countWords(s.length, 'bit')}`, s)),
    ...findings.counters.map(counterBand),
    ...findings.checksums.map(checksumBand),
    ...joinedBytes(findings.unclaimed).map((u) => other('dashed', '', unclaimedWords(u.reason), u)),
  ];
}

/** A rule set by hand that the finders have not looked at yet. */
function ruleBands({ counter, checksum }: HandMade): Band[] {
  const why = 'Set by hand.';
  return [
    ...(counter ? [counterBand({ ...counter, why })] : []),
    ...(checksum ? [checksumBand({ ...checksum, why })] : []),
  ].map((band) => ({ ...band, byHand: true }));
}

const counterBand = (c: FrameFindings['counters'][number]): Band => other('ticks', placeWords(c), counterWords(c), c);
const checksumBand = (c: FrameFindings['checksums'][number]): Band => other('dots', 'check', checksumWords(c), c);

type Other = Placement & {
  readonly why: string;
  readonly when?: When;
  readonly confidence?: number;
  readonly evidence?: unknown;
};

function other(glyph: Glyph, name: string, words: string, item: Other): Band {
  const { lsb, length, order, continues, confidence = 0, when = null } = item;
  const placement: Placement = continues ? { lsb, length, order, continues } : { lsb, length, order };
  const watched = glyph === 'triangle' || glyph === 'ticks' || glyph === 'dots';
  return {
    ...plain,
    key: `${glyph} ${placementKey(placement, when)}`,
    glyph,
    name,
    words,
    why: item.why,
    placement,
    when,
    byHand: isByHand(item),
    value: watched ? { ...fieldAt(placement), name: name || placeWords(placement), when, confidence } : null,
  };
}
