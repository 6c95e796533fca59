/**
 * Signals of a map that can tell whether a vehicle is at rest, by their names, states and units, and what each must read then. A name is a person's or a draft's
 * opinion; one that is wrong refuses a span, and the person can set the map right. Which words are used is common practice, no source.
 */
import type { DecodedFrame } from '../../map/decode.ts';
import type { MapFrame, MapSignal } from '../../map/schema.ts';

export type RestTopic = 'selector' | 'pedal' | 'charging' | 'mode' | 'motion';
export const REST_TOPICS: readonly RestTopic[] = ['selector', 'pedal', 'charging', 'mode', 'motion'];

type Decoded = DecodedFrame['signals'][number];

export interface RestWatch {
  readonly topic: RestTopic;
  readonly frame: MapFrame;
  readonly signal: MapSignal;
  /** What a value says against rest; null where nothing. */
  readonly against: (value: Decoded) => string | null;
}

/** Of its range a pedal may read so much while nobody touches it; a speed so much while nothing turns. */
const PEDAL_SHARE = 0.05;
const MOTION_SHARE = 0.02;
const LEAST_MOTION: Readonly<Record<string, number>> = { rpm: 30 };
const CHARGING_A = 0.5;

const wordsOf = (name: string): string => name.toLowerCase().replace(/[^a-z0-9]+/g, ' ');
const stateNames = ({ states }: MapSignal): string[] => Object.values(states).map(wordsOf);

const SELECTOR = /\b(selector|gear|prnd\w*|shifter|range selected|drive range)\b/;
const PARK = /\b(p|park|parked|parking)\b/;
const PEDAL = /\b(accelerator|pedals?|throttle|brake|paddle)\b/;
const NO_PEDAL =
  /\b(lamp|light|pressure|temperature|fluid|limit|torque|hand|parking|park|pad|wear|request|level|fault|error|valid)\b/;
const RELEASED = /\b(off|released?|not|no|none|free|up|idle|rest|open)\b/;
const MODE = /\b(vehicle|operating|drive|driving) (mode|state)\b|^mode$/;
const BUSY = /\b(driv\w*|charging|moving|reverse|forward)\b/;
const CHARGING = /\b(plug|inlet|charger?|charging)\b/;
const NO_CHARGING =
  /\b(state of charge|limit|energy|counter|temperature|voltage|request|available|fault|error|time|left|link)\b/;
const IS_CHARGING = /\b(charging|plugged|connected|charge on)\b/;
const IS_NOT = /\b(not|no|un\w+|dis\w+|none|off)\b/;
const SPEED_UNIT = /^(km\/h|kmh|mph|m\/s|rpm|1\/min|min-1)$/i;
const NO_SPEED = /\b(limit|fan|pump|max\w*|target|request|set|blower|cooling)\b/;

const shown = ({ state, physical, raw }: Decoded): string => state ?? String(physical ?? raw);
const numberOf = ({ physical }: Decoded): number => (typeof physical === 'number' ? physical : Number.NaN);

function selectorWatch(signal: MapSignal): RestWatch['against'] | null {
  if (!SELECTOR.test(wordsOf(signal.name)) || !stateNames(signal).some((name) => PARK.test(name))) return null;
  return (value) => (value.state !== null && PARK.test(wordsOf(value.state)) ? null : `is ${shown(value)}, not park`);
}

function pedalWatch(signal: MapSignal): RestWatch['against'] | null {
  const name = wordsOf(signal.name);
  if (!PEDAL.test(name) || NO_PEDAL.test(name) || signal.kind === 'text') return null;
  if (stateNames(signal).length > 0)
    return (value) => (value.state !== null && RELEASED.test(wordsOf(value.state)) ? null : `is ${shown(value)}`);
  // Without a range nobody knows where an untouched pedal stands.
  if (!signal.observed && signal.length > 1) return null;
  const low = signal.observed?.min ?? 0;
  const range = (signal.observed?.max ?? 1) - low;
  const most = low + PEDAL_SHARE * range;
  return (value) => (numberOf(value) <= most ? null : `reads ${shown(value)}${signal.unit ? ` ${signal.unit}` : ''}`);
}

function modeWatch(signal: MapSignal): RestWatch['against'] | null {
  if (!MODE.test(wordsOf(signal.name)) || stateNames(signal).length === 0) return null;
  return ({ state }) => (state !== null && BUSY.test(wordsOf(state)) ? `is ${state}` : null);
}

function chargingWatch(signal: MapSignal): RestWatch['against'] | null {
  const name = wordsOf(signal.name);
  if (NO_CHARGING.test(name)) return null;
  if (/\b(charge|charging|charger|mains) current\b/.test(name) && signal.unit === 'A')
    return (value) => (Math.abs(numberOf(value)) <= CHARGING_A ? null : `reads ${shown(value)} A`);
  if (!CHARGING.test(name)) return null;
  if (stateNames(signal).some((state) => IS_CHARGING.test(state)))
    return ({ state }) =>
      state !== null && IS_CHARGING.test(wordsOf(state)) && !IS_NOT.test(wordsOf(state)) ? `is ${state}` : null;
  const isFlag = signal.length === 1 && stateNames(signal).length === 0;
  return isFlag && IS_CHARGING.test(name) ? (value) => (Number(value.raw) === 0 ? null : 'is set') : null;
}

function motionWatch(signal: MapSignal): RestWatch['against'] | null {
  const { unit, observed } = signal;
  if (!SPEED_UNIT.test(unit.trim()) || NO_SPEED.test(wordsOf(signal.name)) || signal.kind !== 'number') return null;
  const most = Math.max(Math.abs(observed?.min ?? 0), Math.abs(observed?.max ?? 0));
  const still = Math.max(LEAST_MOTION[unit.trim().toLowerCase()] ?? 1, MOTION_SHARE * most);
  return (value) => (Math.abs(numberOf(value)) <= still ? null : `reads ${shown(value)} ${unit}`);
}

const WATCHES: readonly (readonly [RestTopic, (signal: MapSignal) => RestWatch['against'] | null])[] = [
  ['selector', selectorWatch],
  ['charging', chargingWatch],
  ['pedal', pedalWatch],
  ['mode', modeWatch],
  ['motion', motionWatch],
];

/** What can be watched in a frame; one topic a signal. */
export function restWatches(frame: MapFrame): RestWatch[] {
  return frame.signals.flatMap((signal) => {
    for (const [topic, make] of WATCHES) {
      const against = make(signal);
      if (against) return [{ topic, frame, signal, against }];
    }
    return [];
  });
}
