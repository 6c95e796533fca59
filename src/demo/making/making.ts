/** What is known while a vehicle is being made, and what a hand-written vehicle fixes instead of leaving it to the seed. */
import type { Random } from '../../kit/random.ts';
import type { Habits, TimingHabits } from '../habits.ts';
import type { Identifiers } from '../identifiers.ts';
import type { PhysicsParameters } from '../physics/parameters.ts';
import type { Profile } from '../profiles.ts';
import type { ModuleRole, QuantityName } from '../quantities.ts';
import type { VehicleBus, VehicleModule } from '../true-frame.ts';

export interface VehicleWish {
  readonly title?: string;
  readonly parameters?: PhysicsParameters;
  readonly buses?: readonly VehicleBus[];
  readonly roles?: readonly ModuleRole[];
  readonly habits?: Partial<Record<ModuleRole, Partial<Habits>>>;
  readonly timing?: Partial<Record<ModuleRole, Partial<TimingHabits>>>;
  /** By topic name; where given, these topics and no others. */
  readonly identifiers?: Readonly<Record<string, number>>;
  /** By topic name, ms. */
  readonly periods?: Readonly<Record<string, number>>;
  /** Fixed resolutions, by quantity. */
  readonly scales?: Partial<Record<QuantityName, number>>;
}

export interface Making {
  readonly random: Random;
  readonly profile: Profile;
  readonly wish: VehicleWish;
  readonly title: string;
  readonly parameters: PhysicsParameters;
  readonly buses: readonly VehicleBus[];
  readonly modules: readonly VehicleModule[];
  /** One a bus. */
  readonly identifiers: readonly Identifiers[];
}

/** A whole number from least to most, both included. */
export const within = (random: Random, [least, most]: readonly [number, number]): number =>
  least + random.below(most - least + 1);

export function roundToTick(periodMs: number, tickMs: number): number {
  return Math.max(tickMs, Math.round(periodMs / tickMs) * tickMs);
}
