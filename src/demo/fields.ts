/** From a quantity and a supplier's habits to a signal: coding, length, scale, states and "no data" value. */
import type { ByteOrder, Coding, Placement } from '../frames/bits.ts';
import type { Random } from '../kit/random.ts';
import type { MapSignal, When } from '../map/schema.ts';
import type { Habits } from './habits.ts';
import { quantityOf, type Quantity, type QuantityName } from './quantities.ts';
import { mapPiece, plainSignal, type TrueField, type ValueSource } from './true-frame.ts';

/** A signal without a place yet. */
export interface FieldPlan {
  readonly name: string;
  readonly length: number;
  readonly order: ByteOrder;
  readonly step: 1 | 4 | 8;
  /** Put its high bits elsewhere. */
  readonly split?: boolean;
  readonly coding: Coding;
  readonly kind: MapSignal['kind'];
  readonly role: MapSignal['role'];
  readonly unit: string;
  readonly scale: number;
  readonly offset: number;
  readonly allowed: { min: number; max: number } | null;
  readonly noData: number | null;
  readonly codes: readonly number[];
  readonly stateNames: readonly string[];
  readonly source: ValueSource;
  readonly delayMs: number;
  readonly refreshMs: number;
}

const NATURAL = [1, 2, 3, 4, 6, 8, 10, 12, 14, 16, 20, 24, 32];
const SATURATES = 0.04;
/** Of the numbers of a supplier that splits at all. */
const SPLIT_SHARE = 0.3;

const bitsFor = (levels: number): number => Math.max(1, Math.ceil(Math.log2(levels - 1e-9)));

interface NumberCoding {
  readonly coding: Coding;
  readonly length: number;
  readonly offset: number;
  readonly noData: number | null;
  /** Coded (before scale and offset) values that stand for something. */
  readonly least: number;
  readonly most: number;
}

function negativeStyle(random: Random, habits: Habits, quantity: Quantity): Habits['negative'] | 'unsigned' {
  if (quantity.low >= 0) return 'unsigned';
  if (quantity.unit === '°C') return random.next() < 0.8 ? 'offset' : 'signed';
  return habits.negative;
}

function widen(bits: number, habits: Habits): number {
  return habits.width === 'exact' ? bits : (NATURAL.find((width) => width >= bits) ?? bits);
}

/** @param fixedLength bits, where the length is given and not drawn; "no data" and the range follow from it. */
function codeNumber(
  random: Random,
  habits: Habits,
  quantity: Quantity,
  scale: number,
  fixedLength?: number,
): NumberCoding {
  const style = negativeStyle(random, habits, quantity);
  const full = Math.abs(255 * scale - quantity.high) < 1e-6 || Math.abs(1023 * scale - quantity.high) < 1e-6;
  const noData = habits.noData && !full;
  const cut = random.next() < SATURATES ? 1 : 0;
  if (style === 'signed' || style === 'sign-magnitude') {
    const reach = Math.ceil(Math.max(-quantity.low, quantity.high) / scale) + 1;
    const length = fixedLength ?? Math.max(4, widen(bitsFor(reach) + 1, habits) - cut);
    const half = 2 ** (length - 1);
    return { coding: style, length, offset: 0, noData: noData ? half : null, least: 1 - half, most: half - 1 };
  }
  const offset = style === 'offset' ? quantity.low : 0;
  const levels = Math.floor((quantity.high - offset) / scale + 1e-9) + 1 + (noData ? 2 : 0);
  const length = fixedLength ?? Math.max(2, widen(bitsFor(levels), habits) - (full ? 0 : cut));
  const top = 2 ** length - 1;
  return { coding: 'unsigned', length, offset, noData: noData ? top : null, least: 0, most: noData ? top - 2 : top };
}

function orderOf(random: Random, habits: Habits): ByteOrder {
  return habits.order === 'mixed' ? random.pick(['little', 'big'] as const) : habits.order;
}

function stepOf(random: Random, habits: Habits, length: number): 1 | 4 | 8 {
  if (length >= 8 && random.next() < habits.alignment) return 8;
  return length >= 4 && random.next() < 0.3 ? 4 : 1;
}

export interface PlanOptions {
  readonly name?: string;
  readonly bias?: number;
  readonly delayMs?: number;
  /** Fixed instead of drawn. */
  readonly scale?: number | undefined;
  readonly length?: number;
}

export function planField(random: Random, habits: Habits, name: QuantityName, options: PlanOptions = {}): FieldPlan {
  const quantity = quantityOf(name);
  const refreshMs = quantity.refreshMs > 0 && random.next() < 0.7 ? quantity.refreshMs : 0;
  const shared = {
    name: options.name ?? name,
    order: orderOf(random, habits),
    role: quantity.role,
    unit: quantity.unit,
    source: { from: 'physics', quantity: name, bias: options.bias ?? 0 },
    delayMs: options.delayMs ?? 0,
    refreshMs,
  } as const;
  if (quantity.kind === 'number') return { ...shared, ...planNumber(random, habits, name, options) };
  return { ...shared, ...planStates(random, habits, quantity), allowed: null, scale: 1, offset: 0 };
}

type NumberPart = Pick<
  FieldPlan,
  'length' | 'step' | 'split' | 'coding' | 'kind' | 'scale' | 'offset' | 'allowed' | 'noData' | 'codes' | 'stateNames'
>;

function planNumber(random: Random, habits: Habits, name: QuantityName, options: PlanOptions): NumberPart {
  const quantity = quantityOf(name);
  const shared = { kind: 'number', codes: [], stateNames: [] } as const;
  if (habits.bcd && quantity.source === 'body' && ['h', 'min', 's'].includes(quantity.unit) && quantity.high < 100) {
    return {
      ...shared,
      coding: 'bcd',
      length: 8,
      step: 1,
      scale: 1,
      offset: 0,
      allowed: { min: 0, max: 99 },
      noData: habits.noData ? 0xff : null,
    };
  }
  if (habits.float && quantity.refreshMs === 0 && random.next() < 0.5) {
    return { ...shared, coding: 'float', length: 32, step: 8, scale: 1, offset: 0, allowed: null, noData: null };
  }
  const scale = options.scale ?? random.pick(quantity.resolutions);
  const coded = codeNumber(random, habits, quantity, scale, options.length);
  const allowed = { min: coded.least * scale + coded.offset, max: coded.most * scale + coded.offset };
  const { coding, length, offset, noData } = coded;
  const split = habits.splits && length > 8 && length < 16 && random.fork(`split ${name}`).next() < SPLIT_SHARE;
  return { ...shared, coding, length, split, step: stepOf(random, habits, length), scale, offset, allowed, noData };
}

function planStates(
  random: Random,
  habits: Habits,
  quantity: Quantity,
): Omit<NumberPart, 'scale' | 'offset' | 'allowed'> {
  const shared = { coding: 'unsigned', step: 1 } as const;
  if (quantity.kind === 'flag') {
    const length = habits.wideFlags ? 2 : 1;
    return { ...shared, kind: 'flag', length, noData: habits.wideFlags ? 3 : null, codes: [0, 1], stateNames: [] };
  }
  const count = quantity.states.length;
  const length = bitsFor(count + (habits.noData ? 1 : 0)) + random.pick([0, 0, 1]);
  const style = random.next();
  const start = style < 0.25 && count + 1 < 2 ** length ? 1 : 0;
  const codes = Array.from({ length: count }, (_, index) => start + index);
  if (style > 0.85) random.shuffle(codes);
  const top = 2 ** length - 1;
  return {
    ...shared,
    kind: 'states',
    length,
    noData: habits.noData && !codes.includes(top) ? top : null,
    codes,
    stateNames: quantity.states,
  };
}

/** A text that fills whole bytes; its first character is its most significant byte in big order. */
export function planText(name: string, text: string): FieldPlan {
  return {
    name,
    length: 8 * text.length,
    order: 'big',
    step: 8,
    coding: 'text',
    kind: 'text',
    role: 'unknown',
    unit: '',
    scale: 1,
    offset: 0,
    allowed: null,
    noData: null,
    codes: [],
    stateNames: [],
    source: { from: 'text', text },
    delayMs: 0,
    refreshMs: 0,
  };
}

export function signalOf(plan: FieldPlan, placement: Placement, when: When): MapSignal {
  const invalid = plan.noData === null ? [] : [{ from: plan.noData, to: plan.noData, meaning: 'no data' }];
  const states = Object.fromEntries(plan.stateNames.map((state, index) => [String(plan.codes[index]), state]));
  return {
    name: plan.name,
    ...mapPiece(placement),
    ...(placement.continues ? { continues: placement.continues.map(mapPiece) } : {}),
    coding: plan.coding,
    kind: plan.kind,
    role: plan.role,
    ...plainSignal(),
    when,
    scale: plan.scale,
    offset: plan.offset,
    unit: plan.unit,
    allowed: plan.allowed,
    invalid,
    states,
  };
}

export function fieldOf(plan: FieldPlan, page: number | null): TrueField {
  const { name, source, delayMs, refreshMs, codes, noData } = plan;
  return { name, source, delayMs, refreshMs, codes, noData, page };
}
