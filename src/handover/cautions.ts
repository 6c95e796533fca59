/** The usual cautions, in words for a person, and what this very map gives reason to add. */
import type { MapFrame, SignalMap } from '../map/schema.ts';
import { mayCommand, meantAlone } from './encode-choice.ts';

export const USUAL_CAUTIONS: readonly string[] = [
  'High voltage: a traction battery and everything connected to it can kill, also in a wreck and with the key off. Work on it only if you are trained for it, with the service disconnect pulled, after measuring that there is no voltage.',
  'Moving parts: a motor that starts on its own moves what is coupled to it. Uncouple the shaft, raise the wheels, keep people clear, have an emergency stop within reach.',
  'Sending on a live bus: a wrong frame can command torque, release a brake or close a contactor. Try on a bench with limited supply, never on a vehicle that can move.',
  'Roadworthiness: a vehicle or vessel with changed controls may lose its approval and insurance. Have it inspected before it is used.',
  'Local codes and licensed practice come before anything written here.',
];

const signalsOf = (map: SignalMap): readonly (readonly [MapFrame, MapFrame['signals'][number]])[] =>
  map.frames.flatMap((frame) => frame.signals.map((signal) => [frame, signal] as const));

const counted = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;

/**
 * The usual ones, then those that this map asks for.
 * @param release "frame.signal": what a person released into the encoder, told again by name
 */
export function cautionsFor(map: SignalMap, release: readonly string[] = []): string[] {
  const signals = signalsOf(map);
  const sendable = signals.filter(([, { sending }]) => sending === 'proven').length;
  const commands = signals.filter(([, signal]) => mayCommand(signal));
  const unproven = signals.filter(([, { standing }]) => standing !== 'proven').length;
  const keyed = map.frames.filter(({ checksums }) => checksums.some(({ method }) => method === 'mac'));
  const released = meantAlone(map, release);
  const own = [
    released.length > 0 &&
      `Released into the encoder by name, though it may move the machine or switch its battery: ${released.join(', ')}.`,
    `Nothing is proven by having been recorded: ${sendable} of ${signals.length} signals have been proven by sending, the others have not.`,
    unproven > 0 &&
      `${unproven} of ${signals.length} signals are not proven on another recording: they may be read wrongly.`,
    commands.length > 0 &&
      `${counted(commands.length, 'signal')} may move the machine or switch its battery and stay out of the encoder unless released by name.`,
    keyed.length > 0 &&
      `A tag that depends on a secret stands in ${counted(keyed.length, 'frame')} and cannot be imitated: keep the module that sends it.`,
  ];
  return [...USUAL_CAUTIONS, ...own.filter((line) => line !== false)];
}
