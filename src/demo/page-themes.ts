/** What the pages of paged frames hold: cell voltages, sensors of the pack, a serial number, a service block. */
import type { Random } from '../kit/random.ts';
import { planField, planText, type FieldPlan } from './fields.ts';
import type { Habits } from './habits.ts';
import type { QuantityName } from './quantities.ts';
import type { PageTheme } from './topics.ts';

export interface PageContent {
  readonly cells: number;
  /** The vehicle's title: serial numbers begin with its letters. */
  readonly title: string;
}

const CELLS_A_PAGE = 3;
const SENSORS = 12;
const CHARACTERS_A_PAGE = 5;
const SERVICE_PAGES: readonly (readonly QuantityName[])[] = [
  ['motor_temperature', 'inverter_temperature'],
  ['phase_current', 'dc_current'],
  ['dc_link_voltage', 'modulation'],
  ['inverter_state', 'torque_available_drive'],
];

function chunk<T>(items: readonly T[], size: number): T[][] {
  return Array.from({ length: Math.ceil(items.length / size) }, (_, page) =>
    items.slice(page * size, (page + 1) * size),
  );
}

/** Slightly different for each cell, the same each time; within what the pack calls its lowest and highest. */
const cellBias = (cell: number): number => (((cell * 37) % 97) / 97) * 0.009;
const sensorBias = (sensor: number): number => ((sensor * 5) % SENSORS) * 0.17;

/** Values of one family share order, coding and everything but their place. */
function alike(plans: readonly FieldPlan[]): FieldPlan[] {
  const first = plans[0] as FieldPlan;
  return plans.map((plan) => ({ ...first, name: plan.name, source: plan.source }));
}

function cellPages(random: Random, habits: Habits, cells: number): FieldPlan[][] {
  const scale = random.pick([0.001, 0.002, 0.0015]);
  const length = scale === 0.001 ? 13 : 12;
  const plans = Array.from({ length: cells }, (_, cell) =>
    planField(random, habits, 'cell_voltage_low', {
      name: `cell_voltage_${cell + 1}`,
      bias: cellBias(cell),
      scale,
      length,
    }),
  );
  return chunk(alike(plans), CELLS_A_PAGE);
}

function sensorPages(random: Random, habits: Habits): FieldPlan[][] {
  const plans = Array.from({ length: SENSORS }, (_, sensor) =>
    planField(random, habits, 'pack_temperature_low', {
      name: `pack_temperature_${sensor + 1}`,
      bias: sensorBias(sensor),
      scale: 0.5,
    }),
  );
  return chunk(alike(plans), 3);
}

function serialNumber(random: Random, title: string): string {
  const letters = title
    .replace(/[^A-Z0-9]/gi, '')
    .toUpperCase()
    .slice(0, 3);
  const digits = String(100_000 + random.below(900_000));
  return `${letters}-${digits.slice(0, 2)}${random.pick(['K', 'N', 'T'])}${digits}`;
}

export function planPages(random: Random, moduleHabits: Habits, theme: PageTheme, content: PageContent): FieldPlan[][] {
  const habits = { ...moduleHabits, float: false };
  switch (theme) {
    case 'cells':
      return cellPages(random, habits, content.cells);
    case 'pack-temperatures':
      return sensorPages(random, { ...habits, negative: 'offset' });
    case 'serial':
      return chunk([...serialNumber(random, content.title)], CHARACTERS_A_PAGE).map((part, page) => [
        planText(`serial_part_${page + 1}`, part.join('').padEnd(CHARACTERS_A_PAGE, ' ')),
      ]);
    case 'service':
      return SERVICE_PAGES.map((names) => names.map((name) => planField(random, habits, name)));
  }
}
