/**
 * A guard's rule as a person types it, and the map's rule made from it, or what is wrong and what to do. What the form has no
 * row for (pages, tables by counter, masks of covered bytes) stays as the finder has it.
 */
import { placementLength, type Placement } from '../../../frames/bits.ts';
import { checksumWidth } from '../../../map/checksum.ts';
import type { ChecksumUnit } from '../../../map/checksum-message.ts';
import { counterModulus } from '../../../map/counter.ts';
import { formatPayload, parsePayload } from '../../../map/raw-values.ts';
import type { MapChecksum, MapCounter } from '../../../map/schema.ts';

export const METHODS = ['xor', 'sum', 'crc', 'copy'] as const;
export type Method = (typeof METHODS)[number];

export interface ChecksumForm {
  readonly guard: 'checksum';
  readonly base: MapChecksum;
  /** null: none chosen yet, as where the finder did not find the rule. */
  readonly method: Method | null;
  readonly poly: string;
  readonly init: string;
  readonly xorout: string;
  readonly refin: boolean;
  readonly refout: boolean;
  readonly carry: 'drop' | 'end-around';
  readonly unit: ChecksumUnit;
  readonly covers: readonly number[];
  readonly before: string;
  readonly after: string;
  readonly placement: Placement;
}

export interface CounterForm {
  readonly guard: 'counter';
  readonly base: MapCounter;
  readonly byte: string;
  readonly bit: string;
  readonly bits: string;
  readonly step: string;
  readonly modulus: string;
}

export type GuardForm = ChecksumForm | CounterForm;
/** What is wrong, by the row it stands in. */
export type Problems = Readonly<Partial<Record<string, string>>>;
type Made<Rule> =
  { readonly rule: Rule; readonly problems?: never } | { readonly rule: null; readonly problems: Problems };

const isMethod = (method: string): method is Method => (METHODS as readonly string[]).includes(method);
const bytesText = (list: readonly string[] = []): string => formatPayload(Uint8Array.from(list, Number));
const byteOf = (entry: NonNullable<MapChecksum['covers']>[number]): number =>
  typeof entry === 'number' ? entry : entry.byte;
type WrittenPlace = Pick<MapCounter, 'lsb' | 'length' | 'order' | 'continues'>;
const pieceOf = ({ lsb, length, order }: Placement): Omit<WrittenPlace, 'continues'> => ({
  lsb: { ...lsb },
  length,
  order,
});
/** A place as the map writes it. */
const placeOf = (placement: Placement): WrittenPlace =>
  placement.continues?.length
    ? { ...pieceOf(placement), continues: placement.continues.map((piece) => pieceOf(piece as Placement)) }
    : pieceOf(placement);

export function checksumForm(base: MapChecksum): ChecksumForm {
  return {
    guard: 'checksum',
    base,
    method: isMethod(base.method) ? base.method : null,
    poly: base.poly ?? '',
    init: base.init ?? '0x0',
    xorout: base.xorout ?? '0x0',
    refin: base.refin ?? false,
    refout: base.refout ?? false,
    carry: base.carry ?? 'drop',
    unit: base.unit ?? 'byte',
    covers: [...new Set((base.covers ?? []).map(byteOf))],
    before: bytesText(base.prefix),
    after: bytesText(base.suffix),
    placement: placeOf(base),
  };
}

/** Where no finder has a rule: nothing chosen, and every byte covered that holds none of the checksum's bits. */
export function freeChecksum(placement: Placement, bytes: number, own: ReadonlySet<number>): MapChecksum {
  const covers = Array.from({ length: bytes }, (_, byte) => byte).filter((byte) => !own.has(byte));
  return { ...placeOf(placement), method: 'unsolved', covers, when: null, undetermined: [], confidence: 0 };
}

export function freeCounter(placement: Placement): MapCounter {
  const max = 2 ** Math.min(32, placementLength(placement)) - 1;
  return { ...placeOf(placement), name: 'tried', step: 1, every: 1, min: 0, max, when: null, confidence: 0 };
}

export function counterForm(base: MapCounter): CounterForm {
  return {
    guard: 'counter',
    base,
    byte: String(base.lsb.byte),
    bit: String(base.lsb.bit),
    bits: String(base.length),
    step: String(base.step),
    modulus: String(counterModulus(base)),
  };
}

const hexText = (value: bigint): string => `0x${value.toString(16).toUpperCase()}`;

/** Hex with or without "0x", no wider than `width` bits. */
function hexTyped(text: string, width: number, isPolynomial: boolean): { hex: string } | { wrong: string } {
  const digits = text.trim().replace(/^0x/i, '');
  if (!/^[0-9a-f]{1,16}$/i.test(digits))
    return { wrong: `Not a hex number: write it like 0x${width > 8 ? '1021' : '1D'}.` };
  const value = BigInt(`0x${digits}`);
  const limit = 1n << BigInt(width);
  if (value >= limit && isPolynomial && value < 2n * limit)
    return { wrong: `Leave out its top bit: write ${hexText(value - limit)}.` };
  if (value >= limit) return { wrong: `Wider than ${width} bits: at most ${hexText(limit - 1n)}.` };
  if (isPolynomial && value === 0n) return { wrong: 'A polynomial of 0 checks nothing: write another.' };
  return { hex: hexText(value) };
}

function bytesTyped(text: string): { list: string[] } | { wrong: string } {
  const bytes = parsePayload(text.replace(/0x|,/gi, ' '));
  if (!bytes) return { wrong: 'Not whole bytes: write two hex digits each, like F4 01.' };
  return { list: Array.from(bytes, (byte) => hexText(BigInt(byte))) };
}

/** In the finder's order and with its masks; bytes that it did not cover go in by their number. */
export function coversOf({ base, covers }: ChecksumForm): NonNullable<MapChecksum['covers']> {
  const chosen = new Set(covers);
  const entries = (base.covers ?? []).filter((entry) => chosen.has(byteOf(entry)));
  const known = new Set(entries.map(byteOf));
  for (const byte of [...chosen].filter((one) => !known.has(one)).sort((a, b) => a - b)) {
    const place = entries.findIndex((entry) => byteOf(entry) > byte);
    entries.splice(place < 0 ? entries.length : place, 0, byte);
  }
  return entries;
}

export const usesRow = (method: Method, row: 'poly' | 'init' | 'reflect' | 'carry' | 'unit' | 'constants'): boolean => {
  if (row === 'poly' || row === 'reflect') return method === 'crc';
  if (row === 'carry') return method === 'sum';
  return method !== 'copy';
};

export function checksumRule(form: ChecksumForm): Made<MapChecksum> {
  const { base, method } = form;
  if (!method) return { rule: null, problems: { method: 'No rule yet: choose how it is computed.' } };
  const problems: Record<string, string> = {};
  const width = checksumWidth(base);
  const hexOf = (row: 'poly' | 'init' | 'xorout'): string | undefined => {
    const typed = hexTyped(form[row], width, row === 'poly');
    if ('hex' in typed) return typed.hex;
    problems[row] = typed.wrong;
    return undefined;
  };
  const listOf = (row: 'before' | 'after'): string[] => {
    const typed = bytesTyped(form[row]);
    if ('list' in typed) return typed.list;
    problems[row] = typed.wrong;
    return [];
  };
  if (form.covers.length === 0) problems['covers'] = 'Nothing is covered: choose at least one byte.';
  const constants = usesRow(method, 'constants');
  const rule: MapChecksum = {
    ...base,
    ...placeOf(form.placement),
    method,
    width,
    poly: usesRow(method, 'poly') ? hexOf('poly') : undefined,
    init: usesRow(method, 'init') ? hexOf('init') : undefined,
    xorout: hexOf('xorout'),
    refin: form.refin,
    refout: form.refout,
    carry: form.carry,
    unit: usesRow(method, 'unit') ? form.unit : undefined,
    covers: coversOf(form),
    prefix: constants ? listOf('before') : [],
    suffix: constants ? listOf('after') : [],
  };
  return Object.keys(problems).length > 0 ? { rule: null, problems } : { rule };
}

function wholeTyped(text: string, least: number, most: number, what: string): number | string {
  const value = /^[-\u2212+]?\d+$/.test(text.trim()) ? Number(text.trim().replace('\u2212', '-')) : Number.NaN;
  return value >= least && value <= most ? value : `${what}: write a whole number from ${least} to ${most}.`;
}

/** @param bytes length of the payload */
export function counterRule(form: CounterForm, bytes: number): Made<MapCounter> {
  const { base } = form;
  const problems: Record<string, string> = {};
  const wholeOf = (
    row: 'byte' | 'bit' | 'bits' | 'step' | 'modulus',
    least: number,
    most: number,
    what: string,
  ): number => {
    const typed = wholeTyped(form[row], least, most, what);
    if (typeof typed === 'number') return typed;
    problems[row] = typed;
    return least;
  };
  const byte = wholeOf('byte', 0, bytes - 1, 'No byte of this payload');
  const bit = wholeOf('bit', 0, 7, 'No bit of a byte');
  const room = base.order === 'big' ? byte * 8 + 8 - bit : bytes * 8 - (byte * 8 + bit);
  const length = wholeOf('bits', 1, Math.min(32, room), 'The payload has no such bits there');
  const modulus = wholeOf('modulus', 2, 2 ** length - base.min, `${length} bits hold no such count of values`);
  const step = wholeOf('step', 1 - modulus, modulus - 1, 'No step of this counter');
  if (!problems['step'] && step === 0)
    problems['step'] = 'A step of 0 never counts: write 1, or −1 for one that counts down.';
  if (Object.keys(problems).length > 0) return { rule: null, problems };
  return { rule: { ...base, lsb: { byte, bit }, length, step, max: base.min + modulus - 1 } };
}
