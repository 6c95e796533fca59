/** Names everything of one frame and decides what of it can be sent; the other files here only write it down. */
import { placementLength, type Placement } from '../../frames/bits.ts';
import { doubtOf } from '../../map/doubt.ts';
import type { MapChecksum, MapCounter, MapFrame, MapSelector } from '../../map/schema.ts';
import { mayCommand, whyNotSent, whyNotSet, type LeftOut } from '../encode-choice.ts';
import { checksumFunction } from './checksums.ts';
import type { CContext } from './context.ts';
import { fixedPointOf } from './fixed-point.ts';
import { memberKind, type CSignal } from './member.ts';
import { NameSpace, safeIdentifier } from './names.ts';
import { fromPayload, fromStruct, pageCondition } from './pages.ts';
import { commentText, u64 } from './text.ts';

/** A C condition for the page of something; null where its layout is always on. */
interface Pages {
  /** Over the selector members of the struct `s`. */
  readonly page: string | null;
  /** Over the payload `p`. */
  readonly payloadPage: string | null;
}

export interface CGuard<Rule extends MapCounter | MapSelector> extends Pages {
  readonly rule: Rule;
  readonly member: string;
  readonly type: 'uint32_t' | 'uint64_t';
}

export interface CChecksum extends Pages {
  readonly rule: MapChecksum;
  readonly name: string;
  /** Null where the rule cannot be computed. */
  readonly source: string | null;
  /** Why a received frame is not held against it; null where it is. */
  readonly notJudged: string | null;
}

export interface CFrame {
  readonly frame: MapFrame;
  /** Struct and function stem, with the prefix: "sm_inverter_status". */
  readonly stem: string;
  readonly macro: string;
  readonly signals: readonly CSignal[];
  readonly selectors: readonly CGuard<MapSelector>[];
  readonly counters: readonly CGuard<MapCounter>[];
  readonly checksums: readonly CChecksum[];
  readonly stateMacros: readonly string[];
  /** Why it cannot be sent; null where it can. */
  readonly notSent: string | null;
  /** Those that may move the machine and keep their bits: the encoder sends them only as they were at rest. */
  readonly held: readonly CSignal[];
  readonly leftOut: readonly LeftOut[];
}

/** What all frames of one source share. */
export interface SharedNames {
  readonly macros: NameSpace;
  /** Types and functions; every frame's own are claimed. */
  readonly statics: NameSpace;
  readonly released: ReadonlySet<string>;
}

/** The macros that come with every frame. */
export const frameMacros = (stem: string): string[] =>
  ['ID', 'EXTENDED', 'FD', 'LENGTH', 'PERIOD_US', 'TIMEOUT_US'].map((name) => `${stem.toUpperCase()}_${name}`);

/** The types and functions that come with every frame, the rest payload, and what is made of its stem in capitals. */
export const frameNames = (stem: string): string[] => [
  stem,
  ...['init', 'decode', 'encode', 'rest', 'heard', 'listen', 'receive', 'expire', 'check', 'fill', 'mark'].map(
    (verb) => `${stem}_${verb}`,
  ),
  stem.toUpperCase(),
  ...frameMacros(stem),
];

/** `arrival` and `values` stand beside the counters in the struct of what was heard; in C++ no member may be named as a type used there. */
const reservedMembers = (stem: string, prefix: string): string[] => [
  ...['payload', 'failed', 'begun', 'values', 'arrival'],
  ...[stem, `${prefix}_arrival`, `${prefix}_count`],
];

function pagesOf(when: MapChecksum['when'] | undefined, selectors: readonly CGuard<MapSelector>[]): Pages {
  return {
    page: pageCondition(when, selectors, fromStruct),
    payloadPage: pageCondition(when, selectors, fromPayload),
  };
}

function guardOf<Rule extends MapCounter | MapSelector>(
  rule: Rule,
  names: NameSpace,
  selectors: readonly CGuard<MapSelector>[],
): CGuard<Rule> {
  const member = names.claim(rule.name.toLowerCase(), (name) => [name, `${name}_sent`]);
  const type = placementLength(rule) <= 32 ? 'uint32_t' : 'uint64_t';
  return { rule, member, type, ...pagesOf(rule.when, selectors) };
}

/** Fields wider than 64 bits have no place in C; text has. */
const fitsC = (placement: Placement): boolean => placementLength(placement) <= 64;

function stateMacros(signals: readonly CSignal[], macro: string, macros: NameSpace): string[] {
  return signals.flatMap(({ signal, member, bits }) =>
    Object.entries(signal.states)
      .filter(([raw]) => /^[0-9]+$/.test(raw) && BigInt(raw) < 1n << BigInt(bits))
      .map(([raw, state]) => {
        const name = macros.claimSafe(`${macro}_${member}_${safeIdentifier(state)}`.toUpperCase());
        return `#define ${name} ${bits <= 32 ? `${raw}u` : u64(BigInt(raw))} /* ${commentText(state)} */`;
      }),
  );
}

function planSelectors(frame: MapFrame, members: NameSpace): CGuard<MapSelector>[] {
  const named: CGuard<MapSelector>[] = [];
  for (const selector of frame.selectors.filter(fitsC)) named.push(guardOf(selector, members, []));
  return named.map((selector) => ({ ...selector, ...pagesOf(selector.rule.when, named) }));
}

function planChecksums(
  frame: MapFrame,
  stem: string,
  selectors: readonly CGuard<MapSelector>[],
  { statics }: SharedNames,
  context: CContext,
): CChecksum[] {
  return frame.checksums.map((rule, i) => {
    const name = statics.claimSafe(`${stem}_checksum_${i}`);
    const source = checksumFunction(name, rule, frame, context);
    const doubt = doubtOf(rule);
    const unable = source === null || !fitsC(rule) ? 'cannot be computed' : null;
    return { rule, name, source, notJudged: unable ?? doubt, ...pagesOf(rule.when, selectors) };
  });
}

export function planFrame(frame: MapFrame, stem: string, context: CContext, names: SharedNames): CFrame {
  const { macros, released } = names;
  const macro = stem.toUpperCase();
  const members = new NameSpace(reservedMembers(stem, context.prefix));
  const selectors = planSelectors(frame, members);
  const counters = frame.counters.filter(fitsC).map((counter) => guardOf(counter, members, selectors));
  const leftOut: LeftOut[] = [];
  const signals = frame.signals.flatMap((signal): CSignal[] => {
    const kind = memberKind(signal, context.scaling);
    if (kind === null) {
      const why = placementLength(signal) > 64 ? 'wider than 64 bits' : 'a float of neither 32 nor 64 bits';
      leftOut.push({ name: `${frame.name}.${signal.name}`, why: `${why}: not in the C decoder` });
      return [];
    }
    const member = members.claim(signal.name.toLowerCase(), (name) => [name, `${name}_valid`]);
    const number = macros.claimSafe(`${macro}_SIGNAL_${member}`.toUpperCase());
    const fixed = kind === 'fixed' ? fixedPointOf(signal) : null;
    const perUnit = fixed?.perUnit ? macros.claimSafe(`${macro}_${member}_PER_UNIT`.toUpperCase()) : null;
    const page = pageCondition(signal.when, selectors, fromStruct);
    return [{ signal, bits: placementLength(signal), kind, member, page, number, fixed, perUnit }];
  });
  const notSent = whyNotSent(frame);
  if (notSent) leftOut.push({ name: frame.name, why: notSent });
  const unset = signals.flatMap(({ signal }) => {
    const why = notSent ? null : whyNotSet(frame, signal, released, context.ranges);
    return why ? [{ name: `${frame.name}.${signal.name}`, why }] : [];
  });
  const kept = new Set(unset.map(({ name }) => name));
  return {
    frame,
    stem,
    macro,
    signals,
    selectors,
    counters,
    checksums: planChecksums(frame, stem, selectors, names, context),
    stateMacros: stateMacros(signals, macro, macros),
    notSent,
    held: signals.filter(({ signal }) => mayCommand(signal) && kept.has(`${frame.name}.${signal.name}`)),
    leftOut: [...leftOut, ...unset],
  };
}
