/** Chooses what the modules talk about and makes a frame of each topic, or of two or three together in CAN FD. */
import type { Random } from '../../kit/random.ts';
import type { MapFrame } from '../../map/schema.ts';
import type { Habits } from '../habits.ts';
import type { Identifiers } from '../identifiers.ts';
import { layOut, type Layout } from '../layout.ts';
import type { Profile } from '../profiles.ts';
import type { ModuleRole } from '../quantities.ts';
import { TOPICS, type Topic } from '../topics.ts';
import { hex, type TrueFrame, type VehicleBus, type VehicleModule } from '../true-frame.ts';
import { roundToTick, within, type Making } from './making.ts';
import { hostOf } from './modules.ts';

const rankOf = (topic: Topic, profile: Profile): number => (profile.paged && topic.pages ? 0 : topic.rank);

/**
 * Topics in the order of the catalogue: the essential ones, then what chance adds. In CAN FD several topics share a
 * frame: more of them are needed for as many identifiers.
 */
function chooseTopics({ random, profile, wish, modules }: Making): Topic[] {
  const { identifiers } = wish;
  if (identifiers) return TOPICS.filter(({ name }) => name in identifiers);
  const ranked = random.shuffle([...TOPICS]).sort((a, b) => rankOf(a, profile) - rankOf(b, profile));
  const wanted = Math.round(within(random, profile.identifiers) * (1 + profile.fd)) - modules.length;
  return ranked.slice(0, wanted).sort((a, b) => TOPICS.indexOf(a) - TOPICS.indexOf(b));
}

const isPlain = ({ kind, pages, cipherBytes }: Topic): boolean => kind === 'periodic' && !pages && !cipherBytes;

/** CAN FD frames hold several topics; how many at most is the supplier's choice. */
function bundle(random: Random, topics: readonly Topic[], habits: Habits): Topic[][] {
  if (!habits.fd) return topics.map((topic) => [topic]);
  const most = random.pick([2, 3, 5]);
  const bundles: Topic[][] = [];
  for (const topic of topics) {
    const last = bundles[bundles.length - 1];
    if (last && isPlain(topic) && last.length < most && last.every(isPlain)) last.push(topic);
    else bundles.push([topic]);
  }
  return bundles;
}

export interface Heading {
  readonly id: number;
  readonly extended: boolean;
  readonly fd: boolean;
  readonly name: string;
  readonly kind: Topic['kind'];
  readonly periodMs: number;
}

function chooseId(
  making: Making,
  module: VehicleModule,
  index: number,
  periodMs: number,
  topic: string,
): Pick<Heading, 'id' | 'extended'> {
  const identifiers = making.identifiers[module.bus] as Identifiers;
  const fixed = making.wish.identifiers?.[topic];
  if (fixed !== undefined) return { id: fixed, extended: fixed > 0x7ff };
  if (!module.habits.extended) return { id: identifiers.base(periodMs), extended: false };
  return { id: identifiers.extended(periodMs, addressOf(index)), extended: true };
}

/** The source address of a module in 29-bit identifiers. */
export const addressOf = (moduleIndex: number): number => 0x10 + moduleIndex * 7;

/** Everything of a frame that ordinary frames do not have. */
export const ORDINARY = {
  relay: null,
  copyOf: null,
  network: false,
  diagnostic: null,
  slowsWithout: null,
} as const;

function makeFrame(
  making: Making,
  module: VehicleModule,
  index: number,
  topics: readonly Topic[],
  order: number,
): TrueFrame {
  const first = topics[0] as Topic;
  const random = making.random.fork(`frame ${first.name}`);
  const { habits } = module;
  const { tickMs } = habits.timing;
  const periodMs = roundToTick(making.wish.periods?.[first.name] ?? random.pick(first.periodsMs), tickMs);
  const { id, extended } = chooseId(making, module, index, periodMs, first.name);
  const fd = habits.fd && random.next() < 0.85;
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
  const heading: Heading = { id, extended, fd, name: first.name, kind: first.kind, periodMs };
  return {
    ...ORDINARY,
    ...heading,
    map: mapFrame(making, module, heading, layout),
    module: index,
    bus: module.bus,
    topics: topics.map(({ name }) => name),
    order,
    phase: random.below(Math.max(1, periodMs / tickMs)),
    fields: layout.fields,
    pages: layout.pages,
    base: layout.base,
    noise: layout.noise,
    tag: layout.guard.tag,
    slowsWithout: first.name === 'drive_request' ? { role: 'inverter', periodMs: 4 * periodMs } : null,
  };
}

export function mapFrame(making: Making, module: VehicleModule, heading: Heading, layout: Layout): MapFrame {
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

export function makeFrames(making: Making): TrueFrame[] {
  const topics = chooseTopics(making);
  const roles: readonly ModuleRole[] = making.modules.map(({ role }) => role);
  return making.modules.flatMap((module, index) => {
    const mine = topics.filter(({ role }) => hostOf(role, roles) === module.role);
    return bundle(making.random.fork(`bundles ${module.role}`), mine, module.habits).map((each, order) =>
      makeFrame(making, module, index, each, order),
    );
  });
}
