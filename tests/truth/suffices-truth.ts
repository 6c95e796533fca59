/** Whether what a recording is said to be short of is truly so, by what the simulator did. */
import { respondersOf } from '../../src/demo/responders.ts';
import { ACTIONS, type ActionName, type DriverAction } from '../../src/demo/script.ts';
import { bitPositions, type Placement } from '../../src/frames/bits.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import type { MapFrame } from '../../src/map/schema.ts';
import { TIMES_ENOUGH } from '../../src/proof/suffices/action-needs.ts';
import type { Need } from '../../src/proof/suffices/types.ts';
import { sentQuantities } from './support/evidence-case.ts';
import { movedBits } from './stream-bits.ts';
import type { Recorded } from './suffices-cases.ts';

const NEAR_S = 3;
const MODE_LEAST_S = 5;
const END_PRESSES = 3;
const LOST_MOST = 0.001;

/** Far above walking pace, far below what a drive reaches. */
const WALKING_MOST_KMH = 15;
export const fastestKmh = ({ drive }: Recorded): number =>
  drive.truth.columns.vehicle_speed.reduce((most, kmh) => Math.max(most, kmh), 0);

const isAction = (text: string): text is ActionName => (Object.values(ACTIONS) as string[]).includes(text);

export const streamKey = ({ bus, id, extended }: Pick<Stream, 'bus' | 'id' | 'extended'>): string =>
  `${bus} ${id} ${extended}`;

/** Bits of a frame's values: neither counters nor checksums nor what says the page. */
export const valueBits = ({ signals }: Pick<MapFrame, 'signals'>): number[] =>
  signals.flatMap((signal) => bitPositions(signal as Placement));

/** Whether anybody in the vehicle answers an action directly. */
export const isAnswered = ({ vehicle }: Pick<Recorded, 'vehicle'>, action: string): boolean => {
  const sent = sentQuantities(vehicle);
  return isAction(action) && respondersOf(action).direct.some((quantity) => sent.has(quantity));
};

function wereTogether(actions: readonly DriverAction[], [one, other]: readonly [string, string]): boolean {
  const near = (a: string, b: string): boolean => {
    const edges = (name: string): number[] =>
      actions
        .filter(({ action }) => action === name)
        .flatMap(({ startS, endS }) => (endS === null ? [startS] : [startS, endS]));
    const mine = actions.filter(({ action }) => action === a);
    const others = edges(b);
    const beside = mine.filter(({ startS, endS }) =>
      others.some((atS) => Math.abs(atS - startS) <= NEAR_S || (endS !== null && Math.abs(atS - endS) <= NEAR_S)),
    );
    return beside.length >= mine.length / 2;
  };
  return near(one, other) || near(other, one);
}

function isResting(table: FrameTable, { vehicle }: Pick<Recorded, 'vehicle'>, at: Need['at']): boolean {
  const stream = table.streams.find(
    ({ bus, id, extended }) => bus === at?.bus && id === Number(at.id) && extended === at.extended,
  );
  const frame = vehicle.frames.find(
    ({ map }) => map.bus === at?.bus && map.id === at.id && map.extended === at.extended,
  );
  if (!stream || !frame) return false;
  const moved = movedBits(stream);
  return valueBits(frame.map).every((bit) => !moved.has(bit));
}

/** Whether a need that is said to be short truly is. */
export function isTrulyShort(recorded: Recorded, need: Need): boolean {
  const { drive, table } = recorded;
  const { actions, begins, durationS } = drive.script;
  const own = actions.filter(({ action }) => action === need.about);
  switch (need.what) {
    case 'wake':
      return begins === 'ready';
    case 'shut-down':
      return !actions.some(
        ({ action, value, startS }) => action === ACTIONS.key && value === 'off' && startS < durationS - 5,
      );
    case 'mode': {
      // Steady traffic that no mark says more of is "on", whatever the vehicle's own modules call it.
      const order = ['asleep', 'waking', 'on', 'ready', 'driving', 'charging', 'shutting down'];
      const modes = (need.about === 'on' ? ['waking', 'on', 'shutting down'] : [need.about]).map((mode) =>
        order.indexOf(mode),
      );
      const own = drive.truth.columns.vehicle_mode.filter((value) => modes.includes(Math.round(value)));
      const seconds = own.length * drive.truth.stepS;
      return seconds < MODE_LEAST_S;
    }
    case 'repetitions':
      return own.length < TIMES_ENOUGH || !isAnswered(recorded, need.about);
    case 'range':
      if ('followers' in need.figures) return fastestKmh(recorded) < WALKING_MOST_KMH;
      return own.filter(({ depth = 0 }) => depth >= 1).length < END_PRESSES;
    case 'apart':
      return wereTogether(actions, need.about.split(' / ') as [string, string]);
    case 'guard':
      return isResting(table, recorded, need.at);
    case 'frames-lost':
      return drive.recording.lost > LOST_MOST * drive.recording.count;
    case 'marks':
      return actions.length === 0;
  }
}
