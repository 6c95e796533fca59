/** The three outings of the demo: two drives of different days and one key-on with the inverter's plug off. */
import { PLAIN_LOGGER, type LoggerOptions } from './recording/logger.ts';
import { writeScript, type DriverScript, type ScriptShape } from './script.ts';

export interface Outing {
  readonly id: string;
  readonly title: string;
  readonly role: string;
  readonly script: DriverScript;
  readonly logger: LoggerOptions;
}

/** 9 March 2026, 07:41:12 UTC. */
const MONDAY_S = Date.UTC(2026, 2, 9, 7, 41, 12) / 1000;
const DAY_S = 86_400;
/** Waking, shutting down and charging alone take a minute. */
const SHORTEST_S = 96;

const SHAPES: readonly (ScriptShape & {
  readonly id: string;
  readonly title: string;
  readonly role: string;
  readonly startS: number;
})[] = [
  { id: 'drive-1', title: 'Monday, yard and road', role: 'main', startS: MONDAY_S, durationS: 290, charges: true },
  {
    id: 'drive-2',
    title: 'Tuesday, same route',
    role: 'second drive',
    startS: MONDAY_S + DAY_S + 1391,
    durationS: 170,
  },
  {
    id: 'inverter-unplugged',
    title: 'Inverter plug off',
    role: 'inverter unplugged',
    startS: MONDAY_S + DAY_S + 9127,
    durationS: 96,
    unplugged: ['inverter'],
  },
];

/** `scale` shortens or lengthens every outing; below about 0.5 actions get few. */
export function planOutings(seed: number, scale: number): readonly Outing[] {
  return SHAPES.map(({ id, title, role, startS, durationS, ...shape }, index): Outing => {
    const script = writeScript(seed + index * 101, { ...shape, durationS: Math.max(SHORTEST_S, durationS * scale) });
    const logger = {
      ...PLAIN_LOGGER,
      startEpochS: startS,
      skewPpm: 11.5,
      lossBursts: index === 2 ? 1 : 4,
      lossMost: 70,
      holeS: index === 0 ? 0.9 : 0,
      askMs: index === 1 ? 250 : 0,
      seed: seed + index,
    };
    return { id, title, role, script, logger };
  });
}
