/** Hands on switches, doors and lamps, and the states that follow key and lever. */
import type { Random } from '../../../src/kit/random.ts';
import { chance } from './draw.ts';
import { GEARS, type Leg } from './itinerary.ts';
import { STEP_S } from './columns.ts';
import { CHARGE, CONTACTOR } from './energy.ts';

/** A switch that a hand turns on and off: mean seconds in each state. */
class Switch {
  value = 0;
  private leftS: number;
  constructor(
    private readonly random: Random,
    private readonly offS: number,
    private readonly onS: number,
    private readonly states = 2,
  ) {
    this.leftS = -offS * Math.log(1 - random.next());
  }
  step(allowed: boolean): number {
    this.leftS -= STEP_S;
    if (this.leftS > 0) return this.value;
    const { random } = this;
    this.value = this.value > 0 || !allowed ? 0 : 1 + random.below(this.states - 1);
    this.leftS = -(this.value > 0 ? this.onS : this.offS) * Math.log(1 - random.next());
    return this.value;
  }
}

/** Vehicle modes: asleep, key on, starting, ready, driving, charging. */
const modeOf = ({ key, gear }: Leg, contactor: number, charge: number): number => {
  if (charge >= CHARGE.negotiating) return 5;
  if (key === 'off') return 0;
  if (key === 'on') return 1;
  if (contactor !== CONTACTOR.closed) return 2;
  return gear === GEARS.park ? 3 : 4;
};

export class Cabin {
  private readonly turn: Switch;
  private readonly beam: Switch;
  private readonly horn: Switch;
  private readonly door: Switch;
  private readonly passengerDoor: Switch;
  private readonly wiper: Switch;
  private readonly heater: Switch;
  private readonly program: Switch;
  private readonly slip: Switch;
  private readonly fault: Switch;
  private belt = 0;
  private light: number;
  private flashS = 0;
  constructor(private readonly random: Random) {
    const often = (offS: number, onS: number, states = 2): Switch => new Switch(random, offS, onS, states);
    this.turn = often(9, 4, 3);
    this.beam = often(25, 6);
    this.horn = often(40, 0.5);
    this.door = often(12, 4);
    this.passengerDoor = often(60, 4);
    this.wiper = often(30, 12, 4);
    this.heater = often(25, 20, 4);
    this.program = often(30, 30, 3);
    this.slip = often(30, 0.4);
    this.fault = often(150, 8);
    this.light = random.between(5, 900);
  }

  step(leg: Leg, { speed, braking, pedal, contactor, charge, torque }: Record<string, number>): Record<string, number> {
    const { random } = this;
    const on = leg.key !== 'off';
    const still = speed! < 0.5;
    const turning = this.turn.step(on);
    this.flashS = turning > 0 ? this.flashS + STEP_S : 0;
    const flash = turning > 0 && (this.flashS / 0.36) % 2 < 1 ? 1 : 0;
    if (on !== this.belt > 0 && still && chance(random, 0.01)) this.belt = on ? 1 : 0;
    this.light = Math.max(1, this.light * (1 + random.normal() * 0.01));
    const mode = modeOf(leg, contactor!, charge!);
    const door = this.door.step(still && leg.gear === GEARS.park);
    const wiper = this.wiper.step(on);
    const horn = this.horn.step(on);
    const slipping = this.slip.step(!still);
    return {
      key: leg.key === 'off' ? 0 : leg.key === 'on' ? 1 : 2,
      gear: leg.gear,
      mode,
      inverterState:
        contactor === CONTACTOR.closed ? (leg.gear === GEARS.park ? 3 : 4) : on ? 1 + (contactor! > 0 ? 1 : 0) : 0,
      stability: slipping ? 2 : on ? 1 : 0,
      turnLever: turning,
      flashLeft: turning === 1 ? flash : 0,
      flashRight: turning === 2 ? flash : 0,
      beam: this.beam.step(on),
      horn,
      door,
      passengerDoor: this.passengerDoor.step(still && leg.gear === GEARS.park),
      locked: leg.key === 'off' || speed! > 12 ? 1 : 0,
      belt: this.belt,
      wiper,
      heater: this.heater.step(on),
      program: this.program.step(on && leg.key === 'ready'),
      fault: this.fault.step(on),
      slipping,
      parked: leg.gear === GEARS.park ? 1 : 0,
      reversing: leg.gear === GEARS.reverse ? 1 : 0,
      braking: braking! > 1 ? 1 : 0,
      pressed: pedal! > 1 ? 1 : 0,
      ready: mode === 3 || mode === 4 ? 1 : 0,
      awake: on ? 1 : 0,
      live: contactor === CONTACTOR.closed ? 1 : 0,
      plugged: leg.plugged ? 1 : 0,
      still: still ? 1 : 0,
      recovering: torque! < -4 && speed! > 3 ? 1 : 0,
      driving: mode === 4 ? 1 : 0,
      light: this.light,
      never: 0,
    };
  }
}
