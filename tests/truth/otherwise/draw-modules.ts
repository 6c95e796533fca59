/** Draws modules as suppliers make them: crystals and resonators, ticks that are no round numbers, one to five tasks, three kinds of controller. */
import type { Random } from '../../../src/kit/random.ts';
import { drawCrystal, drawResonator } from './oscillator.ts';
import type { Mode, ModulePlan, TaskPlan, Waiting } from './plan.ts';
import type { TrafficWish } from './wish.ts';

/** Names of no meaning. */
const NAMES = [
  'tarn',
  'brok',
  'velm',
  'osk',
  'rind',
  'feld',
  'gorm',
  'lusk',
  'nave',
  'pylt',
  'quern',
  'sorb',
  'thole',
  'wick',
];
/** Ticks of operating systems: decimal ones, 1024 and 1000/1024 of a millisecond. */
const TICKS_US = [1000, 1000, 1000, 500, 2000, 5000, 1024, 976.5625];
const PERIODS_MS = [5, 10, 10, 10, 20, 20, 25, 40, 50, 100, 100, 200, 500, 1000];
const WAITINGS: readonly Waiting[] = ['mailboxes', 'mailboxes', 'queue', 'one buffer'];

const DRIVING: readonly Mode[] = ['on', 'ready', 'driving'];
const ALWAYS: readonly Mode[] = ['on', 'ready', 'driving', 'charging'];
const CHARGING: readonly Mode[] = ['charging'];

function drawTasks(random: Random, tickUs: number, leastMs: number): TaskPlan[] {
  const usable = PERIODS_MS.filter((ms) => ms >= leastMs);
  const periods = new Set(Array.from({ length: 1 + random.below(5) }, () => random.pick(usable)));
  return [...periods]
    .sort((a, b) => a - b)
    .map((ms) => {
      const ticks = Math.max(1, Math.round((ms * 1000) / tickUs));
      return { periodUs: ticks * tickUs, phaseUs: random.below(ticks) * tickUs };
    });
}

function drawAwakeIn(random: Random, place: number): readonly Mode[] {
  if (place === 0) return ALWAYS;
  const draw = random.next();
  return draw < 0.15 ? CHARGING : draw < 0.5 ? ALWAYS : DRIVING;
}

export function drawModules(random: Random, wish: TrafficWish, count: number, leastMs: number): ModulePlan[] {
  const names = random.shuffle([...NAMES]);
  return Array.from({ length: count }, (_, place) => {
    const own = random.fork(`module ${place}`);
    const tickUs = own.pick(TICKS_US);
    const skewPpm = wish.skewsPpm?.[place % wish.skewsPpm.length];
    const resonator = own.next() < (wish.resonators ?? 0.25);
    const drawn = resonator ? drawResonator(own) : drawCrystal(own);
    const rough = own.next() < 0.3;
    return {
      name: names[place % names.length] as string,
      oscillator: skewPpm === undefined ? drawn : { ppm: skewPpm, wanderPpm: 0.2, coldPpm: 0, warmingS: 100 },
      tasks: drawTasks(own, tickUs, leastMs),
      waiting: own.pick(WAITINGS),
      depth: 4 + own.below(12),
      lateUs: rough ? own.between(60, 300) : own.between(2, 40),
      workUs: own.between(5, 60),
      heldShare: own.next() < 0.4 ? own.between(0.005, 0.06) : 0.001,
      heldUs: own.between(100, 2500),
      awakeIn: wish.steady === false ? drawAwakeIn(own, place) : ALWAYS,
      bootUs: own.between(15_000, 900_000),
      lingerUs: own.between(200_000, 3_000_000),
      followsUs: own.between(500, 60_000),
    };
  });
}
