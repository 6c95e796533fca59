/** Draws the frames of one house of a stranger's vehicle: topics of its own, and now and then a frame of a special kind. */
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { chance, whole } from './draw.ts';
import { drawCounter, guardFrame } from './guards.ts';
import type { Layout } from './layout.ts';
import { fillItems, Packer, placed } from './packer.ts';
import { drawPages, PAGED, type PagedKind } from './pages.ts';
import type { QuantityName } from './quantities.ts';
import type { Style } from './styles.ts';

interface Topic {
  readonly periodsMs: readonly number[];
  readonly of: readonly QuantityName[];
}

const TOPICS: readonly Topic[] = [
  { periodsMs: [10, 20], of: ['torque', 'torqueAsked', 'turns', 'mode', 'ready', 'fault', 'braking'] },
  { periodsMs: [10, 20], of: ['pedal', 'brake', 'braking', 'gear', 'pressure', 'moving'] },
  { periodsMs: [10, 20], of: ['wheelFrontLeft', 'wheelFrontRight', 'wheelRearLeft', 'wheelRearRight'] },
  { periodsMs: [10, 20], of: ['yaw', 'accelerationAlong', 'accelerationAcross', 'steering', 'speed'] },
  { periodsMs: [20, 100], of: ['volts', 'amps', 'charge', 'chargeLimit', 'dischargeLimit', 'mode', 'key'] },
  {
    periodsMs: [100, 500],
    of: ['motorTemperature', 'inverterTemperature', 'cellTemperature', 'airTemperature', 'boardVolts', 'fan', 'pumpOn'],
  },
  {
    periodsMs: [50, 100],
    of: ['doorLeft', 'doorRight', 'belt', 'lampLeft', 'lampRight', 'key', 'wiper', 'fan', 'braking', 'speed'],
  },
  { periodsMs: [100, 200], of: ['odometer', 'seconds', 'energy', 'tenths', 'airTemperature'] },
  {
    periodsMs: [50, 100],
    of: [
      'speed',
      'turns',
      'charge',
      'motorTemperature',
      'gear',
      'ready',
      'doorLeft',
      'belt',
      'lampLeft',
      'lampRight',
      'fault',
    ],
  },
  { periodsMs: [20, 100], of: ['boardVolts', 'pressure', 'amps', 'volts', 'pumpOn', 'fan'] },
];

const SPECIAL = [...PAGED, 'mac', 'unsolved', 'cipher', 'sensor', 'constant'] as const;
type Special = (typeof SPECIAL)[number] | null;
const isPaged = (what: Special): what is PagedKind => PAGED.some((each) => each === what);

export interface HouseWish {
  readonly seed: string;
  readonly bus: string;
  readonly style: Style;
  readonly frames: number;
  /** Probability that the house has a special kind of frame, for each kind. */
  readonly special: number;
}

function drawPeriod(random: Random, what: Special, topic: Topic): number {
  if (what === 'text') return 200;
  return random.pick(what === 'cells' || what === 'sets' ? [10, 20, 50, 100] : topic.periodsMs);
}

function drawLength(random: Random, what: Special, { fd, extended }: Style): number {
  if (what === 'mac' && !fd) return 8;
  const classic = extended ? [8] : [8, 8, 8, 8, 7, 6, 5];
  const length = random.pick(fd ? [12, 16, 20, 24, 32, 48, 64] : classic);
  return what === 'cipher' ? Math.max(length, 8) : length;
}

function drawBlank(random: Random, { style, bus }: HouseWish, what: Special, topic: Topic, id: number): Layout {
  const { extended, fd } = style;
  const length = drawLength(random, what, style);
  const spare = (): number => (chance(random, style.spareOnes) ? 255 : chance(random, 0.1) ? random.below(256) : 0);
  return {
    bus,
    id,
    extended,
    fd,
    length,
    periodMs: drawPeriod(random, what, topic),
    jitter: random.between(0.02, 0.07),
    fill: Uint8Array.from({ length }, spare),
    items: [],
    counters: [],
    guards: [],
    selector: null,
    cipher: null,
  };
}

/** From one of the first bytes to the end; counters stay only before it. */
function drawCipher(random: Random, packer: Packer, layout: Layout): void {
  const from = whole(random, 0, 2);
  const before = layout.counters.filter(({ place }) => place.lsb.byte < from);
  layout.counters.splice(0, Infinity, ...before);
  layout.cipher = packer.take(placed(from, 0, (layout.length - from) * 8, 'little'));
}

function drawTopics(random: Random, { style }: HouseWish, packer: Packer, layout: Layout, first: Topic): void {
  const names: QuantityName[] = [];
  const topics = style.fd ? Math.ceil(layout.length / 8) : 2;
  for (let index = 0, topic = first; index < topics; index++, topic = random.pick(TOPICS)) {
    const shuffled = random.shuffle([...topic.of]);
    names.push(...(topic === first && chance(random, 0.6) ? topic.of : shuffled));
  }
  fillItems(random, style, packer, names, { pages: null, inner: null }, layout.items);
}

function drawGuards(random: Random, wish: HouseWish, packer: Packer, layout: Layout, what: Special): void {
  const { seed, style } = wish;
  if (what === 'mac' || what === 'unsolved') guardFrame(random, seed, style, packer, layout, what);
  else if (what !== 'text' && what !== 'cipher' && chance(random, style.guardRate * (isPaged(what) ? 0.5 : 1)))
    guardFrame(random, seed, style, packer, layout, random.pick(style.guards));
  else if (chance(random, 0.3)) {
    const place = packer.add(random.pick([2, 4, 4, 8]), 4);
    if (place) layout.counters.push(drawCounter(random, place));
  }
}

function drawLayout(random: Random, wish: HouseWish, what: Special, id: number): Layout {
  const topic = random.pick(TOPICS);
  const layout = drawBlank(random, wish, what, topic, id);
  if (what === 'constant') return layout;
  const packer = new Packer(wish.style.order, layout.length);
  drawGuards(random, wish, packer, layout, what);
  if (what === 'cipher') {
    drawCipher(random, packer, layout);
    return layout;
  }
  if (what === 'sensor')
    for (let noisy = 0; noisy < 2; noisy++) {
      const place = packer.add(random.pick([4, 8]), 4);
      if (place) layout.items.push({ place, content: { from: 'noise' }, pages: null, inner: null });
    }
  if (isPaged(what)) drawPages(random, wish.style, packer, layout, what);
  else drawTopics(random, wish, packer, layout, topic);
  return layout;
}

const drawId = (random: Random, extended: boolean): number =>
  extended ? 0x0cf00000 + random.below(0x4000) * 256 + whole(random, 0, 40) : whole(random, 0x050, 0x6ff);

export function drawHouse(wish: HouseWish): Layout[] {
  const random = createRandom(`house ${wish.seed}`);
  const special = SPECIAL.filter(() => chance(random, wish.special));
  const layouts: Layout[] = [];
  while (layouts.length < wish.frames) {
    const id = drawId(random, wish.style.extended);
    if (layouts.some((layout) => layout.id === id)) continue;
    layouts.push(drawLayout(random, wish, special[layouts.length] ?? null, id));
  }
  return layouts;
}
