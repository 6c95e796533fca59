/**
 * Makes a vehicle from a seed: which modules it has, what each of them sends and how, and the true signal map of it all.
 * The same seed and profile give the same vehicle to the bit.
 */
import { createRandom, type Random } from '../kit/random.ts';
import type { MapFrame, SignalMap } from '../map/schema.ts';
import { drawHabits, type Habits } from './habits.ts';
import { Identifiers } from './identifiers.ts';
import { layOut, networkPiece, type Layout } from './layout.ts';
import { drawParameters, type PhysicsParameters } from './physics/parameters.ts';
import { PROFILES, type Profile, type ProfileName } from './profiles.ts';
import type { ModuleRole, QuantityName } from './quantities.ts';
import { HOST, TOPICS, type Topic } from './topics.ts';
import { bitAddress, hex, type TrueFrame, type Vehicle, type VehicleBus, type VehicleModule } from './true-frame.ts';

/** What a hand-written vehicle fixes instead of leaving it to the seed. */
export interface VehicleWish {
  readonly title?: string;
  readonly parameters?: PhysicsParameters;
  readonly buses?: readonly VehicleBus[];
  readonly roles?: readonly ModuleRole[];
  readonly habits?: Partial<Record<ModuleRole, Partial<Habits>>>;
  /** By topic name; where given, these topics and no others. */
  readonly identifiers?: Readonly<Record<string, number>>;
  /** Fixed resolutions, by quantity. */
  readonly scales?: Partial<Record<QuantityName, number>>;
}

const ALWAYS: readonly ModuleRole[] = ['vehicle-control', 'inverter', 'battery', 'brake', 'body'];
const OPTIONAL: readonly ModuleRole[] = ['charger', 'cluster', 'thermal', 'steering'];
const COMFORT: readonly ModuleRole[] = ['body', 'charger', 'cluster', 'thermal'];
const LETTERS = 'ABCDEFGHIJ';

interface Making {
  readonly random: Random;
  readonly profile: Profile;
  readonly wish: VehicleWish;
  readonly title: string;
  readonly parameters: PhysicsParameters;
  readonly buses: readonly VehicleBus[];
  readonly modules: readonly VehicleModule[];
  readonly identifiers: readonly Identifiers[];
}

const within = (random: Random, [least, most]: readonly [number, number]): number =>
  least + random.below(most - least + 1);

function chooseRoles(random: Random, profile: Profile, wish: VehicleWish): readonly ModuleRole[] {
  if (wish.roles) return wish.roles;
  const count = within(random, profile.modules);
  return [...ALWAYS, ...random.shuffle([...OPTIONAL]).slice(0, count - ALWAYS.length)];
}

function makeBuses(random: Random, profile: Profile): VehicleBus[] {
  const dataBitrate = profile.fd > 0 ? 2_000_000 : null;
  const main: VehicleBus = { name: 'can0', bitrate: 500_000, dataBitrate };
  return profile.buses === 1
    ? [main]
    : [main, { name: 'can1', bitrate: random.pick([125_000, 250_000, 250_000, 500_000]), dataBitrate: null }];
}

function hostOf(role: ModuleRole, roles: readonly ModuleRole[]): ModuleRole {
  return roles.includes(role) ? role : (HOST[role] ?? role);
}

function makeModules(
  random: Random,
  profile: Profile,
  wish: VehicleWish,
  roles: readonly ModuleRole[],
  buses: readonly VehicleBus[],
): VehicleModule[] {
  return roles.map((role, index): VehicleModule => {
    const bus = buses.length > 1 && COMFORT.includes(role) ? 1 : 0;
    const drawn = drawHabits(random.fork(`habits ${role}`), role, profile);
    const habits = {
      ...drawn,
      fd: drawn.fd && (buses[bus] as VehicleBus).dataBitrate !== null,
      ...wish.habits?.[role],
    };
    const hosts = OPTIONAL.filter((each) => hostOf(each, roles) === role && each !== role);
    return {
      role,
      letter: LETTERS[index] as string,
      name: role.replace('-', ' '),
      bus,
      habits,
      hosts,
      wakesWith: COMFORT.includes(role) ? 'body' : 'powertrain',
    };
  });
}

/** Topics in the order in which a vehicle would have them: the essential ones, then chance. */
function chooseTopics({ random, profile, wish, modules }: Making): Topic[] {
  const { identifiers } = wish;
  if (identifiers) return TOPICS.filter(({ name }) => name in identifiers);
  const ranked = random.shuffle([...TOPICS]).sort((a, b) => rankOf(a, profile) - rankOf(b, profile));
  const wanted = within(random, profile.identifiers) - modules.length;
  return ranked.slice(0, Math.min(ranked.length, wanted)).sort((a, b) => TOPICS.indexOf(a) - TOPICS.indexOf(b));
}

const rankOf = (topic: Topic, profile: Profile): number => (profile.paged && topic.pages ? 1 : topic.rank);

/** CAN FD modules put two or three topics of like pace into one frame. */
function bundle(topics: readonly Topic[], habits: Habits): Topic[][] {
  if (!habits.fd) return topics.map((topic) => [topic]);
  const bundles: Topic[][] = [];
  for (const topic of topics) {
    const alone = topic.kind !== 'periodic' || topic.pages !== undefined;
    const last = bundles[bundles.length - 1];
    const fits = last && !alone && last.length < 3 && last.every(({ kind, pages }) => kind === 'periodic' && !pages);
    if (fits) last.push(topic);
    else bundles.push([topic]);
  }
  return bundles;
}

function roundUpTo(periodMs: number, tickMs: number): number {
  return Math.max(tickMs, Math.round(periodMs / tickMs) * tickMs);
}

function wideId(
  making: Making,
  module: VehicleModule,
  index: number,
  periodMs: number,
  topic: string,
): { id: number; extended: boolean } {
  const identifiers = making.identifiers[module.bus] as Identifiers;
  const fixed = making.wish.identifiers?.[topic];
  if (fixed !== undefined) return { id: identifiers.reserve(fixed, fixed > 0x7ff), extended: fixed > 0x7ff };
  if (!module.habits.extended) return { id: identifiers.base(periodMs), extended: false };
  return { id: identifiers.extended(periodMs, 0x10 + index * 7), extended: true };
}

function makeFrame(
  making: Making,
  module: VehicleModule,
  index: number,
  topics: readonly Topic[],
  order: number,
): TrueFrame {
  const first = topics[0] as Topic;
  const random = making.random.fork(`frame ${first.name}`);
  const periodMs = roundUpTo(random.pick(first.periodsMs), module.habits.timing.tickMs);
  const { id, extended } = wideId(making, module, index, periodMs, first.name);
  const fd = module.habits.fd && random.next() < 0.85;
  const { habits } = module;
  const layout = layOut(random, {
    topics,
    habits,
    id,
    fd,
    cells: making.parameters.cells,
    noiseShare: making.profile.noise,
    title: making.title,
    scales: making.wish.scales ?? {},
  });
  const map = mapFrame(making, module, { id, extended, fd, name: first.name, kind: first.kind, periodMs }, layout);
  const phase = random.below(Math.max(1, periodMs / habits.timing.tickMs));
  const { fields, pages, base, noise, guard } = layout;
  return {
    map,
    module: index,
    bus: module.bus,
    id,
    extended,
    fd,
    topics: topics.map(({ name }) => name),
    kind: first.kind,
    periodMs,
    order,
    phase,
    fields,
    pages,
    base,
    noise,
    tag: guard.tag,
    relay: null,
    copyOf: null,
    network: false,
  };
}

interface Heading {
  readonly id: number;
  readonly extended: boolean;
  readonly fd: boolean;
  readonly name: string;
  readonly kind: Topic['kind'];
  readonly periodMs: number;
}

function mapFrame(making: Making, module: VehicleModule, heading: Heading, layout: Layout): MapFrame {
  const { id, extended, fd, name, kind, periodMs } = heading;
  const ofPart = module.role === 'inverter' || module.role === 'battery';
  return {
    bus: (making.buses[module.bus] as VehicleBus).name,
    id: hex(id),
    extended,
    length: layout.length,
    fd,
    name,
    role: ofPart ? 'sent-by-part' : module.role === 'vehicle-control' ? 'needed-by-part' : 'other',
    sender: { group: module.letter, name: module.name, confidence: 1 },
    timing: { kind, periodMs: kind === 'on-change' ? null : periodMs, jitterMs: null },
    rest: null,
    need: { verdict: 'untested', how: '' },
    counters: [...layout.guard.counters],
    checksums: [...layout.guard.checksums],
    selectors: [...layout.selectors],
    signals: [...layout.signals],
    unclaimed: [...layout.unclaimed],
  };
}

const NETWORK_PERIOD_MS = 640;
const HASTE_MS = 400;

/** One network-management frame a module: node number, a wake-up bit that is set at first, the rest filled. */
function makeNetworkFrame(making: Making, module: VehicleModule, index: number): TrueFrame {
  const tick = module.habits.timing.tickMs;
  const periodMs = roundUpTo(NETWORK_PERIOD_MS, tick);
  const identifiers = making.identifiers[module.bus] as Identifiers;
  const { extended } = module.habits;
  const id = identifiers.reserve(extended ? (0x18ff7000 | (0x10 + index * 7)) >>> 0 : 0x600 + index, extended);
  const base = Uint8Array.of(0x10 + index, 0x01, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff);
  const field = {
    name: 'just_awake',
    source: { from: 'since-wake', untilMs: HASTE_MS },
    delayMs: 0,
    refreshMs: 0,
    codes: [0, 1],
    noData: null,
    page: null,
  } as const;
  const byte = (at: number): MapFrame['unclaimed'][number] => ({
    lsb: bitAddress(at, 0),
    length: 8,
    order: 'little',
    reason: at < 2 ? 'constant' : 'filling',
    value: base[at],
  });
  const unclaimed: MapFrame['unclaimed'] = [
    byte(0),
    { lsb: bitAddress(1, 0), length: 4, order: 'little', reason: 'constant', value: 1 },
    { lsb: bitAddress(1, 5), length: 3, order: 'little', reason: 'idle', value: 0 },
    ...[2, 3, 4, 5, 6, 7].map(byte),
  ];
  const signal: MapFrame['signals'][number] = {
    name: 'just_awake',
    ...networkPiece,
    coding: 'unsigned',
    kind: 'flag',
    role: 'state',
    when: null,
    scale: 1,
    offset: 0,
    unit: '',
    observed: null,
    allowed: null,
    invalid: [],
    states: {},
    table: null,
    standing: 'supported',
    sending: 'untested',
    confidence: 1,
    evidence: [],
    notes: '',
  };
  const empty: Layout = {
    length: 8,
    signals: [signal],
    fields: [field],
    selectors: [],
    pages: [],
    guard: { counters: [], checksums: [], tag: null, pieces: [] },
    unclaimed,
    base,
    noise: [],
  };
  const map = mapFrame(
    making,
    module,
    { id, extended, fd: false, name: `network_${module.role.replace('-', '_')}`, kind: 'periodic', periodMs },
    empty,
  );
  return {
    map,
    module: index,
    bus: module.bus,
    id,
    extended,
    fd: false,
    topics: [],
    kind: 'periodic',
    periodMs,
    order: 99,
    phase: 0,
    fields: [field],
    pages: [],
    base,
    noise: [],
    tag: null,
    relay: null,
    copyOf: null,
    network: true,
  };
}

/** Frames of the powertrain that a gateway copies to the other bus: same payload, a little later, sent by the gateway. */
function addRelays(making: Making, frames: TrueFrame[]): TrueFrame[] {
  if (making.buses.length < 2) return frames;
  const gateway = making.modules.findIndex(({ role }) => role === 'body');
  const random = making.random.fork('gateway');
  const able = frames.filter((frame) => frame.bus === 0 && !frame.network && !frame.fd && frame.periodMs >= 20);
  const chosen = random.shuffle([...able]).slice(0, 3);
  const result = [...frames];
  for (const frame of chosen) {
    const at = result.indexOf(frame);
    const copy = result.length;
    const letter = (making.modules[gateway] as VehicleModule).letter;
    const sender = { group: letter, name: 'gateway', confidence: 1 };
    const relayOf = { bus: frame.map.bus, id: frame.map.id, extended: frame.extended };
    const map = { ...frame.map, bus: (making.buses[1] as VehicleBus).name, sender, role: 'other', relayOf } as MapFrame;
    result[at] = { ...frame, relay: { bus: 1, delayUs: random.between(180, 1600), copy } };
    result.push({ ...frame, map, bus: 1, module: gateway, copyOf: at, relay: null });
    (making.identifiers[1] as Identifiers).reserve(frame.id, frame.extended);
  }
  return result;
}

function makeFrames(making: Making): TrueFrame[] {
  const topics = chooseTopics(making);
  const roles = making.modules.map(({ role }) => role);
  const own = making.modules.flatMap((module, index) => {
    const mine = topics.filter(({ role }) => hostOf(role, roles) === module.role);
    const bundles = bundle(mine, module.habits);
    return bundles.map((each, order) => makeFrame(making, module, index, each, order));
  });
  const network = making.modules.map((module, index) => makeNetworkFrame(making, module, index));
  return addRelays(making, [...own, ...network]);
}

function makeMap(making: Making, frames: readonly TrueFrame[]): SignalMap {
  const paged = frames.some(({ pages }) => pages.length > 0);
  return {
    format: 'loomscribe.signal-map',
    version: 1,
    requires: paged ? ['when'] : [],
    part: {
      title: 'Drive unit and pack',
      donor: making.title,
      notes: 'The true map of a simulated vehicle. Everything in it is invented.',
    },
    made: { by: 'loomscribe simulated vehicle', at: '2026-03-09T08:00:00Z' },
    captures: [],
    buses: making.buses.map((bus) => ({ ...bus })),
    frames: frames.map(({ map }) => map),
    sequences: [],
  };
}

export function makeVehicle(seed: number, profile: Profile = PROFILES.plain, wish: VehicleWish = {}): Vehicle {
  const random = createRandom(seed).fork(`vehicle ${profile.name}`);
  const buses = wish.buses ?? makeBuses(random, profile);
  const roles = chooseRoles(random, profile, wish);
  const modules = makeModules(random, profile, wish, roles, buses);
  const parameters = wish.parameters ?? drawParameters(seed);
  const title = wish.title ?? `simulated vehicle ${seed} (${profile.name})`;
  const identifiers = buses.map((bus) => new Identifiers(random.fork(`identifiers ${bus.name}`)));
  for (const id of Object.values(wish.identifiers ?? {})) for (const each of identifiers) each.reserve(id, id > 0x7ff);
  const making: Making = { random, profile, wish, title, parameters, buses, modules, identifiers };
  const frames = makeFrames(making);
  return { seed, profile: profile.name, parameters, buses, modules, frames, map: makeMap(making, frames) };
}

/** A vehicle of one of the scorecard's profiles. */
export const vehicleFor = (profile: ProfileName, seed: number): Vehicle => makeVehicle(seed, PROFILES[profile]);
