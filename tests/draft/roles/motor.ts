/** A motor made by hand: what a person moves among other reasons, its torque's command and answer, the speed that they make, that speed at the wheels, and the current that both take. */
import { lagging, noise, wandering, type SentField } from './two-senders.ts';

const asked = wandering(5, 9000, 12000, 28000);
const given = lagging(asked, 0.05);
const torque = (timeS: number): number => given(timeS) - 20000;
// Held up as by a road: it neither runs away nor stands.
const pace = lagging((timeS) => 20000 + 2 * torque(timeS), 2.5);
const speedAt = (timeS: number): number => Math.max(0, pace(timeS) - 12000);
export const power = (timeS: number): number => (torque(timeS) * speedAt(timeS)) / 8000;

export const field = (id: number, sender: string, periodMs: number, at: (timeS: number) => number): SentField => ({
  id,
  sender,
  periodMs,
  phaseMs: id % 7,
  at,
});

const aside = wandering(31, 9000, 12000, 28000);

export const motor: readonly SentField[] = [
  field(0x080, 'A', 10, (timeS) => 0.7 * asked(timeS + 0.05) + 0.3 * aside(timeS)),
  field(0x100, 'A', 10, asked),
  field(0x200, 'B', 10, (timeS) => given(timeS) + noise(timeS, 40)),
  field(0x210, 'B', 20, (timeS) => speedAt(timeS) + noise(timeS, 20)),
  field(0x300, 'C', 20, (timeS) => speedAt(timeS) / 3.7 + noise(timeS + 9, 6)),
  field(0x400, 'D', 20, (timeS) => 20000 + power(timeS) + noise(timeS, 60)),
  field(0x500, 'E', 50, wandering(77, 5000, 5000, 30000)),
];
