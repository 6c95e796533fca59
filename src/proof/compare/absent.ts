/**
 * Who is missing in the second capture. An identifier that the first has alone is put to the missing module by Bayes: how many
 * others are missing for certain on its bus, whether its sender group or its source address stays or goes, against the chance of its
 * silence with the sender there. What is only rare, or of another mode, stays undecided.
 */
import { matchCircumstances } from './circumstances.ts';
import { frameOf, keyText, type Pairing } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import { reactionsTo, stopsOf, type Stop } from './reactions.ts';
import { rhythmSilence, silenceOf, type Silence } from './silence.ts';
import { unknownReason } from './unknown-reason.ts';
import type { Absent, ComparedFrame, GroupFate, Judged, JudgedCopy, Reaction } from './types.ts';

/** From this posterior on an identifier is listed as sent by the missing module. */
const LISTED = 0.5;
const PRIOR_LEAST = 0.03;
/** Chance that an identifier of another sender stops because of the absence: measured on no vehicle, taken as rare. */
const STOPS_TOO = 0.04;
/** What may only be the answer of another sender to a silent question is worth this much of its confidence. */
const ANSWERS = 0.8;
/** A sender group tells from this confidence on, with so many other members. */
const GROUP_TELLS = 0.5;
const OTHERS_LEAST = 2;
/** Of the others in its group, the share that may be silent while the group counts as staying. */
const STAYS_MOST = 0.25;
/** How far a common low byte of 29-bit identifiers is taken for one sender: the source address of SAE J1939-21. */
const ADDRESS_TELLS = 0.85;
/** Silent groups, and share of silent identifiers, from which on the second shows another state rather than a missing module. */
const GROUPS_MOST = 2;
const SILENT_MOST = 0.6;
/** Identifiers that fall silent within this time of each other, seconds, did so together. */
const TOGETHER_S = 2;

interface Lone {
  readonly identifier: IdentifierProfile;
  readonly silence: Silence;
}

interface Evidence {
  readonly prior: number;
  /** Its own group goes on without it. */
  readonly stays: boolean;
  readonly words: string;
}

class Roll {
  private readonly silent: ReadonlySet<string>;
  constructor(
    private readonly all: readonly IdentifierProfile[],
    silent: readonly IdentifierProfile[],
  ) {
    this.silent = new Set(silent.map(keyText));
  }
  isSilent(frame: ComparedFrame): boolean {
    return this.silent.has(keyText(frame));
  }
  private split(others: readonly IdentifierProfile[]): { readonly all: number; readonly silent: number } {
    return { all: others.length, silent: others.filter((each) => this.isSilent(each)).length };
  }
  get silentCount(): number {
    return this.silent.size;
  }
  /** Others on its bus, of its group, and of its source address. */
  onBus(own: IdentifierProfile): { readonly all: number; readonly silent: number } {
    return this.split(this.all.filter((each) => each !== own && each.bus === own.bus));
  }
  inGroup(own: IdentifierProfile): { readonly all: number; readonly silent: number } {
    if (own.group === null) return { all: 0, silent: 0 };
    return this.split(this.all.filter((each) => each !== own && each.group === own.group));
  }
  ofAddress(own: IdentifierProfile): { readonly all: number; readonly silent: number } {
    if (!own.extended) return { all: 0, silent: 0 };
    const address = Number(own.id) & 0xff;
    return this.split(
      this.all.filter(
        (each) => each !== own && each.extended && each.bus === own.bus && (Number(each.id) & 0xff) === address,
      ),
    );
  }
}

function weigh(own: IdentifierProfile, roll: Roll): Evidence {
  const bus = roll.onBus(own);
  // Something must be the missing module's: of few silent ones each may be the one.
  const one = roll.isSilent(own) ? 1 / (roll.silentCount + 1) : 0;
  let prior = Math.max(PRIOR_LEAST, one, bus.silent / Math.max(1, bus.all));
  let words = '';
  let stays = false;
  const blend = (trust: number, { all, silent }: { all: number; silent: number }, name: string): void => {
    if (all < OTHERS_LEAST) return;
    prior = trust * ((silent + 0.3) / (all + 0.6)) + (1 - trust) * prior;
    words = `; ${silent} of the ${all} others ${name} are silent too`;
    stays = silent <= STAYS_MOST * all;
  };
  blend(ADDRESS_TELLS, roll.ofAddress(own), 'with its source address');
  const trust = own.groupConfidence ?? 0;
  if (trust >= GROUP_TELLS) blend(trust, roll.inGroup(own), `in its sender group ${own.group ?? ''}`);
  return { prior, stays, words };
}

const posterior = (prior: number, q: number): number => prior / (prior + (1 - prior) * q);

function judged(identifier: IdentifierProfile, confidence: number, why: string): Judged {
  return { ...frameOf(identifier), group: identifier.group, confidence: Number(confidence.toFixed(3)), why };
}

/** Counts of a copy and its original differ by what the log lost. */
const COPY_COUNTS = 0.02;

/** What timing calls its original, else the same identifier on another bus with as many frames. */
function originalOf(identifier: IdentifierProfile, lone: readonly IdentifierProfile[]): IdentifierProfile | undefined {
  const { copyOf } = identifier;
  if (copyOf) return lone.find((each) => keyText(each) === keyText(copyOf));
  const { bus, id, extended, length, count } = identifier;
  return lone.find(
    (each) =>
      each.bus !== bus &&
      each.id === id &&
      each.extended === extended &&
      each.length === length &&
      Math.abs(each.count - count) <= COPY_COUNTS * count,
  );
}

/** Copies whose original is silent too. Of two that may each be the other's: the one on the bus with fewer silent ones. */
function silentCopies(lone: readonly IdentifierProfile[]): ReadonlyMap<IdentifierProfile, ComparedFrame> {
  const others = (own: IdentifierProfile): number =>
    lone.filter(({ bus, id }) => bus === own.bus && id !== own.id).length;
  const copies = new Map<IdentifierProfile, ComparedFrame>();
  for (const identifier of lone) {
    const original = originalOf(identifier, lone);
    if (!original || copies.has(original)) continue;
    const mutual = originalOf(original, lone) === identifier;
    const first = others(identifier) - others(original) || (identifier.bus < original.bus ? 1 : -1);
    if (!mutual || first < 0) copies.set(identifier, frameOf(original));
  }
  return copies;
}

/** Whether a bus without a partner can be put down to its only sender, and how surely. */
function deadBus(
  bus: string,
  a: ComparisonProfile,
  b: ComparisonProfile,
  pairing: Pairing,
): { readonly sure: number; readonly words: string } {
  const own = a.identifiers.filter((identifier) => identifier.bus === bus && !identifier.copyOf);
  const letters = new Set(own.map(({ group }) => group));
  const taken = new Set(pairing.buses.values());
  const listening = b.buses.find(({ name, frames, errors }) => !taken.has(name) && frames === 0 && errors.count > 0);
  if (listening)
    return { sure: 0.9, words: `${listening.name} of the second holds nothing but error frames: nobody is left there` };
  const one = letters.size === 1 && !letters.has(null);
  if (one)
    return {
      sure: 0.6,
      words: `all of ${bus} is of one sender and the second has no such bus: the sender is missing, or the bus was not recorded`,
    };
  return { sure: 0.3, words: `${bus} has no partner in the second: it was perhaps not recorded` };
}

interface Parts {
  sentBy: Judged[];
  copies: JudgedCopy[];
  undecided: Judged[];
  stopping: Reaction[];
}

/** What answers a silent question has no reason to come. */
function answersSilence({ bus, timing }: IdentifierProfile, roll: Roll): boolean {
  const asked = timing['replyTo'];
  return typeof asked === 'string' && [false, true].some((extended) => roll.isSilent({ bus, id: asked, extended }));
}

function judge({ identifier, silence }: Lone, roll: Roll, parts: Parts): void {
  const { prior, stays, words } = weigh(identifier, roll);
  const answers = identifier.timing.kind === 'reply' && answersSilence(identifier, roll);
  const doubt = answers ? `; it may only answer ${String(identifier.timing['replyTo'])}, which is silent` : '';
  const why = silence.words + words + doubt;
  const chance = silence.q >= 1 ? 0 : posterior(prior, Math.min(1, silence.q + STOPS_TOO));
  const confidence = answers ? ANSWERS * chance : chance;
  if (stays && silence.plain && confidence < LISTED) {
    parts.stopping.push({ ...judged(identifier, 1 - confidence, why), how: 'stops with it', bytes: [] });
    return;
  }
  (confidence >= LISTED ? parts.sentBy : parts.undecided).push(judged(identifier, confidence, why));
}

/** Identifiers that fall silent together on the way, with their whole group: the module was lost during the second capture. */
function lostTogether(stops: readonly Stop[], a: ComparisonProfile): Stop[] {
  return stops.filter((stop) => {
    const { group } = stop.pair.a;
    if (group === null) return false;
    const members = a.identifiers.filter((each) => each.group === group && each.timing.periodMs !== null);
    const along = stops.filter((each) => each.pair.a.group === group && Math.abs(each.atS - stop.atS) <= TOGETHER_S);
    return members.length >= OTHERS_LEAST && along.length >= 0.8 * members.length;
  });
}

function silentGroups(sentBy: readonly Judged[]): Map<string, number> {
  const counts = new Map<string, number>();
  for (const { group } of sentBy) if (group !== null) counts.set(group, (counts.get(group) ?? 0) + 1);
  return new Map([...counts].filter(([, count]) => count >= OTHERS_LEAST).sort((x, y) => y[1] - x[1]));
}

/** More falls silent than one module sends. */
function isOtherState(sentBy: readonly Judged[], a: ComparisonProfile): boolean {
  const letters = silentGroups(sentBy).size;
  const share = sentBy.length / Math.max(1, a.identifiers.filter(({ copyOf }) => !copyOf).length);
  return letters > GROUPS_MOST || (share > SILENT_MOST && letters !== 1);
}

function groupFates(a: ComparisonProfile, sentBy: readonly Judged[], reacts: readonly Reaction[]): GroupFate[] {
  const letters = [...new Set(a.identifiers.flatMap(({ group }) => (group === null ? [] : [group])))].sort();
  const silent = new Set(sentBy.map(keyText));
  return letters.map((group) => {
    const members = a.identifiers.filter((identifier) => identifier.group === group);
    const own = reacts.filter((reaction) => reaction.group === group);
    const ofKind = (how: Reaction['how']): ComparedFrame[] => own.filter((each) => each.how === how).map(frameOf);
    const [slower, faster] = [ofKind('slower'), ofKind('faster')];
    return {
      group,
      members: members.length,
      silent: members.filter((identifier) => silent.has(keyText(identifier))).length,
      slower,
      faster,
      otherwise: own.length - slower.length - faster.length,
    };
  });
}

function wordsFor(sentBy: readonly Judged[], copies: readonly JudgedCopy[], lone: number): string {
  if (sentBy.length === 0) {
    return lone === 0
      ? 'Every identifier of the first is in the second too: no module is missing.'
      : 'No sender falls silent for certain.';
  }
  const groups = [...silentGroups(sentBy)];
  const named = groups
    .map(([letter, count], at) => {
      const share = count === sentBy.length ? 'all' : `${count}${at === 0 ? ' of them' : ''}`;
      return `${share} of sender group ${letter}`;
    })
    .join(', ');
  const identifiers = sentBy.length === 1 ? '1 identifier is' : `${sentBy.length} identifiers are`;
  const who = groups.length === 0 ? '; timing gives no group for them' : `; by timing, ${named}`;
  const along =
    copies.length === 0
      ? ''
      : ` ${copies.length} ${copies.length === 1 ? 'copy' : 'copies'} by a gateway stop with them.`;
  const more = groups.length > 1 ? ' More than one sender falls silent: one may hang on the other.' : '';
  return `${identifiers} silent together: sent by the missing module${who}.${along}${more}`;
}

const OTHER_STATE =
  'More falls silent than one module sends: the second capture may show another state of the vehicle, such as key off. Nothing is put down to a missing module.';

export function findAbsent(a: ComparisonProfile, b: ComparisonProfile, pairing: Pairing): Absent {
  const copies = silentCopies(pairing.onlyInA);
  const circumstances = matchCircumstances(a, b, pairing);
  const own = pairing.onlyInA.filter((identifier) => !copies.has(identifier));
  const heard = own
    .filter(({ bus }) => pairing.buses.get(bus) !== null)
    .map((identifier) => ({ identifier, exposure: circumstances.exposureOf(identifier) }));
  const plainly = heard.filter(({ identifier, exposure }) => rhythmSilence(identifier, exposure)?.plain).length;
  const share = plainly / Math.max(1, plainly + pairing.pairs.length);
  const lone = heard.map(({ identifier, exposure }): Lone => {
    const setting = { a, b, pairing, unknownReason: unknownReason(a, b, pairing, identifier, share) };
    return { identifier, silence: silenceOf(identifier, exposure, setting) };
  });
  const stops = stopsOf(a, b, pairing.pairs);
  const lost = lostTogether(stops, a);
  const originals = a.identifiers.filter((identifier) => !copies.has(identifier));
  const sure = [
    ...lone.filter(({ silence }) => silence.plain).map(({ identifier }) => identifier),
    ...lost.map(({ pair }) => pair.a),
  ];
  const roll = new Roll(originals, sure);
  const parts: Parts = { sentBy: [], copies: [], undecided: [], stopping: [] };
  lone.forEach((each) => judge(each, roll, parts));
  parts.sentBy.push(...lost.map(({ pair, words }) => judged(pair.a, 0.85, words)));
  for (const identifier of own.filter(({ bus }) => pairing.buses.get(bus) === null)) {
    const { sure: confidence, words } = deadBus(identifier.bus, a, b, pairing);
    (confidence >= LISTED ? parts.sentBy : parts.undecided).push(judged(identifier, confidence, words));
  }
  return assemble(
    a,
    b,
    pairing,
    parts,
    copies,
    stops.filter((stop) => !lost.includes(stop)),
  );
}

function assemble(
  a: ComparisonProfile,
  b: ComparisonProfile,
  pairing: Pairing,
  parts: Parts,
  copies: ReadonlyMap<IdentifierProfile, ComparedFrame>,
  stops: readonly Stop[],
): Absent {
  const otherState = isOtherState(parts.sentBy, a);
  const listed = otherState ? [] : parts.sentBy;
  const doubted = parts.sentBy.map((each) => ({ ...each, confidence: Number((each.confidence * 0.4).toFixed(3)) }));
  const along = [...copies].map(([identifier, copyOf]): JudgedCopy => ({
    ...judged(identifier, 0.9, `copied from ${copyOf.bus} ${copyOf.id}, which is silent: the copy stops with it`),
    copyOf: frameOf(copyOf),
  }));
  const reacts = listed.length === 0 ? [] : [...parts.stopping, ...reactionsTo(a, b, pairing, listed, stops)];
  const bySurest = <T extends Judged>(list: readonly T[]): T[] => [...list].sort((x, y) => y.confidence - x.confidence);
  return {
    sentBy: bySurest(listed),
    copies: listed.length === 0 ? [] : along,
    reacts: bySurest(reacts),
    undecided: bySurest([
      ...(otherState ? doubted : []),
      ...(listed.length === 0 ? parts.stopping.map(plain) : []),
      ...(listed.length === 0 ? along.map(plain) : []),
      ...parts.undecided,
    ]),
    groups: groupFates(a, listed, reacts),
    why: otherState ? OTHER_STATE : wordsFor(listed, along, pairing.onlyInA.length),
  };
}

const plain = ({ bus, id, extended, group, confidence, why }: Judged): Judged => ({
  bus,
  id,
  extended,
  group,
  confidence,
  why,
});
