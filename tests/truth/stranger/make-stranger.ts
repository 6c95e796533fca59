/** Vehicles of the third maker: `strangerDrive(condition, seed)` gives two drives as streams with their truth. */
import { FD_BIT_RATE_SWITCH, FD_FORMAT } from '../../../src/frames/table.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { makeStream } from '../../fields/support/streams.ts';
import type { KnownChecksum, KnownDrive, KnownField, KnownFrame, KnownStream, Presence } from '../fields-truth.ts';
import { drawHouse } from './draw-house.ts';
import type { Item, Layout } from './layout.ts';
import { QUANTITIES } from './quantities.ts';
import { runLayout } from './run-layout.ts';
import { STYLES, type Style, type StyleName } from './styles.ts';
import { makeWorld, type Circumstance } from './world.ts';

interface Habits {
  /** Drawn from these, a house of its own each. */
  readonly styles: readonly StyleName[];
  readonly houses: number;
  readonly buses: number;
  readonly circumstance: Circumstance;
  /** Probability that a house has a special kind of frame, for each kind. */
  readonly special: number;
  readonly allGuarded: boolean;
  readonly seconds: readonly [number, number];
}

const FRAMES_A_HOUSE = 14;
const AGAIN_S = 60;

const usual: Habits = {
  styles: ['packed', 'bytes', 'nibbles', 'sums'],
  houses: 2,
  buses: 2,
  circumstance: 'driving',
  special: 0.45,
  allGuarded: false,
  seconds: [90, 120],
};

const CONDITIONS = {
  plain: usual,
  dense: { ...usual, houses: 4 },
  guarded: { ...usual, allGuarded: true },
  paged: { ...usual, special: 0.9 },
  extended: { ...usual, styles: ['truck'] },
  fd: { ...usual, styles: ['long'], houses: 1, buses: 1 },
  short: { ...usual, seconds: [40, 40] },
  standing: { ...usual, circumstance: 'standing', seconds: [40, 120] },
} as const satisfies Record<string, Habits>;
export type StrangerCondition = keyof typeof CONDITIONS;

/** Each with an identifier of its own on its bus: of two houses on one bus that would send the same one, the first does. */
export function drawLayouts(condition: StrangerCondition, seed: number): Layout[] {
  const { styles, houses, buses, special, allGuarded }: Habits = CONDITIONS[condition];
  const random = createRandom(`stranger ${condition} ${seed}`);
  const order = random.shuffle([...styles]);
  const layouts = Array.from({ length: houses }, (_, house) => {
    const style: Style = STYLES[order[house % order.length] as StyleName];
    return drawHouse({
      seed: `${condition} ${seed} ${house}`,
      bus: `can${house % buses}`,
      style: allGuarded ? { ...style, guardRate: 1 } : style,
      frames: FRAMES_A_HOUSE,
      special,
    });
  }).flat();
  const names = layouts.map(({ bus, id }) => `${bus} ${id}`);
  return layouts.filter((_, index) => names.indexOf(names[index] as string) === index);
}

const presenceOf = ({ selector }: Layout, { pages, inner }: Pick<Item, 'pages' | 'inner'>): Presence => [
  ...(selector && pages ? [{ place: selector.place, values: pages }] : []),
  ...(selector?.inner && inner !== null ? [{ place: selector.inner.place, values: [inner] }] : []),
];

function fieldOf(layout: Layout, item: Item): KnownField[] {
  const { place, content } = item;
  const at = { place, on: presenceOf(layout, item) };
  if (content.from === 'noise') return [];
  if (content.from === 'text')
    return [{ ...at, coding: 'text', kind: 'text', model: 'text', quantity: null, kin: null, blurred: false }];
  const { quantity, coding, noise, band } = content.source;
  const { sort, kin } = QUANTITIES[quantity];
  return [
    {
      ...at,
      coding,
      kind: sort === 'exact' ? 'number' : sort,
      model: content.cell ? 'one cell of many' : quantity,
      quantity: content.cell ? null : quantity,
      kin: kin ?? quantity,
      blurred: noise > 0 || band > 0,
    },
  ];
}

/** What is true of one identifier, on every drive. */
export function truthOf(layout: Layout): KnownFrame {
  const { items, counters, guards, selector, cipher } = layout;
  const noise = items.filter(({ content }) => content.from === 'noise').map(({ place }) => place);
  return {
    fields: items.flatMap((item) => fieldOf(layout, item)),
    counters: counters.map((counter) => ({ ...counter, on: [] })),
    checksums: guards.map(({ place, kind }): KnownChecksum => ({
      place,
      on: [],
      kind: kind === 'mac' || kind === 'unsolved' ? kind : 'rule',
      model: kind,
    })),
    selectors: selector
      ? [
          { place: selector.place, on: [] },
          ...(selector.inner
            ? [{ place: selector.inner.place, on: presenceOf(layout, { pages: [selector.inner.page], inner: null }) }]
            : []),
        ]
      : [],
    cipher: cipher ? [cipher, ...noise] : noise,
  };
}

interface DriveWish {
  readonly seed: string;
  readonly circumstance: Circumstance;
  readonly seconds: number;
  readonly loss: number;
}

export function runDrive(layouts: readonly Layout[], { seed, circumstance, seconds, loss }: DriveWish): KnownStream[] {
  const world = makeWorld(seed, circumstance, seconds);
  return layouts.map((layout, index): KnownStream => {
    const { bus, id, extended, fd, length } = layout;
    const sent = runLayout(layout, seed, world, seconds, loss);
    const payload = new Uint8Array(sent.length * length);
    sent.forEach((each, row) => payload.set(each.payload, row * length));
    const timeUs = Float64Array.from(sent, ({ timeS }) => Math.round(timeS * 1e6));
    const fdFlags = fd ? new Uint8Array(sent.length).fill(FD_FORMAT | FD_BIT_RATE_SWITCH) : null;
    const stream = { ...makeStream(payload, length, id), timeUs, bus, extended, index, fdFlags };
    return { frame: truthOf(layout), stream };
  });
}

/** The other drive goes somewhere, also that of a vehicle that stood. */
export function strangerDrive(condition: StrangerCondition, seed: number): KnownDrive {
  const { circumstance, seconds }: Habits = CONDITIONS[condition];
  const layouts = drawLayouts(condition, seed);
  const random = createRandom(`stranger drive ${condition} ${seed}`);
  const wish: DriveWish = {
    seed: `${condition} ${seed} one`,
    circumstance,
    seconds: random.between(...seconds),
    loss: random.pick([0, 0, 0.0005, 0.003]),
  };
  const other: DriveWish = { seed: `${condition} ${seed} two`, circumstance: 'driving', seconds: AGAIN_S, loss: 0 };
  return {
    name: `stranger ${condition} ${seed}`,
    streams: runDrive(layouts, wish),
    again: () => runDrive(layouts, other),
  };
}
