/**
 * The outings of the demo: two drives of different days, one key-on with the inverter's plug off, and for donors that cannot drive one with the key on
 * whose fuse has fired, and one of the inverter alone on the bench.
 */
import type { ModuleRole } from './quantities.ts';
import { PLAIN_LOGGER, type LoggerOptions } from './recording/logger.ts';
import { benchScript, keyOnScript } from './still-scripts.ts';
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

/** All but the inverter stay in the van. */
const NOT_ON_BENCH: readonly ModuleRole[] = ['battery', 'vehicle-control', 'brake', 'charger', 'body'];
const BENCH_TURNS = 5;

/** Donors that cannot drive; they last as long as what is done there. */
function stillOutings(seed: number): readonly Outing[] {
  const logger = { ...PLAIN_LOGGER, skewPpm: 11.5 };
  return [
    {
      id: 'key-on',
      title: 'Fuse fired, key on',
      role: 'key on',
      script: keyOnScript(seed + 401, 5),
      logger: { ...logger, startEpochS: MONDAY_S + 4 * DAY_S, seed: seed + 3 },
    },
    {
      id: 'bench',
      title: 'Inverter on the bench',
      role: 'bench',
      script: benchScript(seed + 502, NOT_ON_BENCH, BENCH_TURNS),
      logger: { ...logger, startEpochS: MONDAY_S + 9 * DAY_S, seed: seed + 4 },
    },
  ];
}

/** `scale` shortens or lengthens every drive; below about 0.5 actions get few. */
export function planOutings(seed: number, scale: number): readonly Outing[] {
  const driven = SHAPES.map(({ id, title, role, startS, durationS, ...shape }, index): Outing => {
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
  return [...driven, ...stillOutings(seed)];
}
