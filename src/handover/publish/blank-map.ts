/**
 * The map without the numbers: recorded payloads with guards made anew, constants, what was observed of the fields that held them, states by value, and every
 * text. What the numbers do not touch stays as it was.
 */
import { bitPositions, readRawBig, writeRaw, type Placement } from '../../frames/bits.ts';
import { formatPayload, parsePayload } from '../../map/raw-values.ts';
import type { MapFrame, MapSignal, MapUnclaimed, SignalMap, When } from '../../map/schema.ts';
import { guardedBlanker } from './blank-frames.ts';
import { mapValues } from './map-strings.ts';
import { sameFrame } from './readings.ts';
import { textBlanker } from './texts.ts';
import type { BlankRule, MaskedByte } from './types.ts';

export interface BlankedMap {
  readonly map: SignalMap;
  /** Texts and figures written over. */
  readonly texts: number;
  /** Names of frames whose payload at rest had to go, as a guard could not be made anew. */
  readonly restsDropped: readonly string[];
}

const PAYLOAD_BYTES = 64;

const maskIn = (bytes: readonly MaskedByte[], place: number): number =>
  bytes.reduce((found, { byte, mask }) => (byte === place >> 3 ? found | ((mask >> (place & 7)) & 1) : found), 0);

/** Whether a rule may apply on the pages that `when` names: no selector whose bits it holds to another value. */
function canMeet(when: When, { selectors }: MapFrame, rule: BlankRule): boolean {
  return Object.entries(when ?? {}).every(([name, values]) => {
    const selector = selectors.find((each) => each.name === name);
    if (!selector) return true;
    const places = bitPositions(selector as Placement);
    if (!places.every((place) => maskIn(rule.holds, place))) return true;
    const payload = new Uint8Array(PAYLOAD_BYTES);
    for (const { byte, value } of rule.holds) payload[byte]! |= value;
    return values.includes(Number(readRawBig(selector as Placement, payload)));
  });
}

const touches = (place: Placement, { writes }: BlankRule): boolean =>
  bitPositions(place).some((at) => maskIn(writes, at));

const within = (some: readonly MaskedByte[], all: readonly MaskedByte[]): boolean =>
  some.every((one) =>
    all.some(
      ({ byte, mask, value }) =>
        byte === one.byte && (mask & one.mask) === one.mask && (value & one.mask) === one.value,
    ),
  );

/** What stands under the bits that a rule writes over. */
const writtenOver = ({ holds, writes }: BlankRule): readonly MaskedByte[] =>
  writes.map(({ byte, mask }) => ({
    byte,
    mask,
    value: mask & (holds.find((held) => held.byte === byte)?.value ?? 0),
  }));

/** Rules that say on which page of the map they apply, and those whose bits none of these has. */
function toldByPage(frame: MapFrame, rules: readonly BlankRule[]): readonly BlankRule[] {
  const places = frame.selectors.flatMap((selector) => bitPositions(selector as Placement));
  const saysPage = ({ holds }: BlankRule): boolean => places.every((place) => maskIn(holds, place));
  const paged = rules.filter(saysPage);
  return rules.filter((rule) => paged.includes(rule) || !paged.some((other) => within(writtenOver(rule), other.holds)));
}

/** What a field showed of itself goes where it held a number. */
function blankedSignal(signal: MapSignal, frame: MapFrame, rules: readonly BlankRule[]): MapSignal {
  const isOwn = toldByPage(frame, rules).some(
    (rule) => touches(signal as Placement, rule) && canMeet(signal.when, frame, rule),
  );
  return isOwn ? { ...signal, observed: null, allowed: null, states: {}, invalid: [] } : signal;
}

/** A constant with the bits of the number written over; a part of it that a number's rule does not fit stays. */
function blankedConstant(constant: MapUnclaimed, rules: readonly BlankRule[]): MapUnclaimed {
  if (constant.value === undefined) return constant;
  const own = constant as Placement;
  const payload = new Uint8Array(PAYLOAD_BYTES);
  writeRaw(own, BigInt(constant.value), payload);
  const within = new Set(bitPositions(own));
  const was = payload.slice();
  for (const { holds, writes } of rules) {
    const shared = (bytes: readonly MaskedByte[]): { place: number; bit: number }[] =>
      bytes.flatMap(({ byte, mask, value }) =>
        [0, 1, 2, 3, 4, 5, 6, 7]
          .filter((bit) => (mask >> bit) & 1 && within.has(byte * 8 + bit))
          .map((bit) => ({ place: byte * 8 + bit, bit: (value >> bit) & 1 })),
      );
    const isSame = shared(holds).every(({ place, bit }) => (((was[place >> 3] as number) >> (place & 7)) & 1) === bit);
    if (!isSame) continue;
    for (const { place, bit } of shared(writes))
      payload[place >> 3] = ((payload[place >> 3] as number) & ~(1 << (place & 7))) | (bit << (place & 7));
  }
  const raw = readRawBig(own, payload);
  if (raw === BigInt(constant.value)) return constant;
  return {
    ...constant,
    value: typeof constant.value === 'string' ? `0x${raw.toString(16).toUpperCase()}` : Number(raw),
  };
}

function blankedFrame(frame: MapFrame, all: readonly BlankRule[], dropped: string[]): MapFrame {
  const rules = all.filter((rule) => sameFrame(frame, rule));
  if (rules.length === 0) return frame;
  const payload = frame.rest ? parsePayload(frame.rest.payload) : null;
  const answer = payload ? guardedBlanker(frame, rules)(payload) : null;
  if (answer?.kind === 'left-out') dropped.push(frame.name);
  const isKept = answer !== null && answer.kind !== 'left-out';
  return {
    ...frame,
    rest: frame.rest && isKept ? { ...frame.rest, payload: formatPayload(answer.payload) } : null,
    signals: frame.signals.map((signal) => blankedSignal(signal, frame, rules)),
    unclaimed: frame.unclaimed.map((constant) => blankedConstant(constant, rules)),
  };
}

const EARLIEST = '1970-01-01T00:00:00Z';
const DATES =
  /(?<!\d)(?:19|20)\d\d([-_.]?)(?:0[1-9]|1[0-2])\1(?:0[1-9]|[12]\d|3[01])(?:[T_ -]?\d\d[:_-]?\d\d(?:[:_-]?\d\d)?)?(?!\d)/g;

/** Days and times of day in a text become zeros. */
const withoutDates = (text: string): string => text.replace(DATES, (date) => date.replace(/\d/g, '0'));

function withoutTimes(map: SignalMap): SignalMap {
  const captures = map.captures.map((capture) => ({
    ...capture,
    title: withoutDates(capture.title),
    files: capture.files.map((file) => ({ ...file, name: withoutDates(file.name) })),
  }));
  return { ...map, made: { ...map.made, at: EARLIEST }, captures };
}

const FIGURE_LEAST = 6;

/** Whole numbers that a number's digits make, as states and evidence may hold them. */
const figuresOf = (secrets: readonly string[]): ReadonlySet<number> =>
  new Set(secrets.filter((secret) => new RegExp(`^\\d{${FIGURE_LEAST},15}$`).test(secret)).map(Number));

/** hidesTimes: days and times of day go too. */
export function blankMap(
  map: SignalMap,
  rules: readonly BlankRule[],
  secrets: readonly string[],
  hidesTimes: boolean,
): BlankedMap {
  const dropped: string[] = [];
  const frames = map.frames.map((frame) => blankedFrame(frame, rules, dropped));
  const blank = textBlanker(secrets);
  const figures = figuresOf(secrets);
  let texts = 0;
  const blanked = mapValues({ ...map, frames }, (value) => {
    if (typeof value === 'number') {
      if (!figures.has(value)) return value;
      texts++;
      return 0;
    }
    const made = blank(value);
    texts += made.times;
    return made.text;
  }) as SignalMap;
  return { map: hidesTimes ? withoutTimes(blanked) : blanked, texts, restsDropped: dropped };
}
