/** Battery, contactors, charger, 12 V and heat: integrated in steps of 10 ms. Heat capacities are small, so that minutes show. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, clamp, integer } from './draw.ts';
import type { Leg } from './itinerary.ts';
import { STEP_S } from './columns.ts';

export interface Pack {
  readonly cells: number;
  readonly capacityAh: number;
  readonly resistanceOhm: number;
  readonly cellSpreadV: number;
  readonly prechargeS: number;
  readonly chargeA: number;
}

export const drawPack = (random: Random): Pack => ({
  cells: integer(random, 80, 110),
  capacityAh: random.between(40, 160),
  resistanceOhm: random.between(0.04, 0.14),
  cellSpreadV: random.between(0.002, 0.015),
  prechargeS: random.between(0.06, 0.25),
  chargeA: random.between(8, 26),
});

export const CONTACTOR = { open: 0, negative: 1, precharge: 2, closed: 3, opening: 4 } as const;
export const CHARGE = { none: 0, plugged: 1, negotiating: 2, charging: 3, ending: 4 } as const;

export class Energy {
  private contactor: number = CONTACTOR.open;
  private charge: number = CHARGE.none;
  private inS = 0;
  private chargeInS = 0;
  private link: number;
  private soc: number;
  private current = 0;
  private chargeCurrent = 0;
  private outWh: number;
  private inWh: number;
  private heat: { motor: number; inverter: number; coolant: number; pack: number; charger: number };
  private readonly outside: number;
  private low = 12.4;
  private fan = 0;
  private compressor = 0;
  constructor(
    private readonly pack: Pack,
    private readonly random: Random,
  ) {
    this.soc = random.between(25, 92);
    this.outside = random.between(-8, 33);
    this.link = random.between(0, 15);
    this.outWh = random.between(1e5, 4e6);
    this.inWh = this.outWh * random.between(0.2, 1.3);
    const warm = (by: number): number => this.outside + random.between(0, by);
    this.heat = { motor: warm(30), inverter: warm(25), coolant: warm(15), pack: warm(12), charger: warm(8) };
  }

  get isLive(): boolean {
    return this.contactor === CONTACTOR.closed;
  }

  private switchContactors(wanted: boolean, packV: number): void {
    const stay = (state: number): void => {
      this.contactor = state;
      this.inS = 0;
    };
    this.inS += STEP_S;
    if (!wanted && this.contactor !== CONTACTOR.open && this.contactor !== CONTACTOR.opening) stay(CONTACTOR.opening);
    else if (this.contactor === CONTACTOR.open && wanted && this.inS > 0.15) stay(CONTACTOR.negative);
    else if (this.contactor === CONTACTOR.negative && this.inS > 0.12) stay(CONTACTOR.precharge);
    else if (this.contactor === CONTACTOR.precharge && this.link > 0.96 * packV && this.inS > 0.2)
      stay(CONTACTOR.closed);
    else if (this.contactor === CONTACTOR.opening && this.inS > 0.25) stay(CONTACTOR.open);
    if (this.contactor === CONTACTOR.precharge) this.link += ((packV - this.link) * STEP_S) / this.pack.prechargeS;
    else if (this.contactor === CONTACTOR.closed) this.link = packV;
    else this.link -= (this.link * STEP_S) / 2.5;
  }

  private switchCharge(plugged: boolean): void {
    const stay = (state: number): void => {
      this.charge = state;
      this.chargeInS = 0;
    };
    this.chargeInS += STEP_S;
    if (!plugged && this.charge !== CHARGE.none) stay(CHARGE.none);
    else if (plugged && this.charge === CHARGE.none) stay(CHARGE.plugged);
    else if (this.charge === CHARGE.plugged && this.chargeInS > 0.8) stay(CHARGE.negotiating);
    else if (this.charge === CHARGE.negotiating && this.isLive && this.chargeInS > 1.2) stay(CHARGE.charging);
    const goal = this.charge === CHARGE.charging ? this.pack.chargeA : 0;
    this.chargeCurrent += clamp(goal - this.chargeCurrent, -0.5, 0.06);
  }

  private warm(torque: number): void {
    const { heat, outside } = this;
    const flow = (from: number, to: number, tauS: number): number => ((to - from) * STEP_S) / tauS;
    heat.motor += flow(heat.motor, heat.coolant, 70) + Math.abs(torque) * 0.0035 * STEP_S;
    heat.inverter += flow(heat.inverter, heat.coolant, 25) + Math.abs(this.current) * 0.006 * STEP_S;
    heat.coolant += flow(heat.coolant, outside, 200) + (heat.motor + heat.inverter - 2 * heat.coolant) * 0.02 * STEP_S;
    heat.pack += flow(heat.pack, outside, 900) + this.current ** 2 * 4e-6 * STEP_S;
    heat.charger += flow(heat.charger, heat.coolant, 30) + this.chargeCurrent * 0.04 * STEP_S;
  }

  step(leg: Leg, drive: { powerW: number; torque: number }): Record<string, number> {
    const { pack, random } = this;
    const open = pack.cells * (3.35 + 0.0075 * this.soc);
    const packV = open - this.current * pack.resistanceOhm;
    const wanted = leg.key === 'ready' || this.charge >= CHARGE.negotiating;
    this.switchContactors(wanted, packV);
    this.switchCharge(leg.plugged);
    if (chance(random, 0.002)) this.compressor = chance(random, 0.5) ? random.between(200, 2200) : 0;
    const aux = this.isLive ? 350 + this.compressor : 0;
    const goal = this.isLive ? (drive.powerW + aux) / packV - this.chargeCurrent : 0;
    this.current += ((goal - this.current) * STEP_S) / 0.03;
    this.soc = clamp(this.soc - (this.current * STEP_S) / 36 / pack.capacityAh, 3, 100);
    const power = this.current * packV;
    if (power > 0) this.outWh += (power * STEP_S) / 3600;
    else this.inWh -= (power * STEP_S) / 3600;
    this.warm(drive.torque);
    const lowGoal = this.isLive ? 14.1 : leg.key === 'off' ? 12.5 : 12.1;
    this.low += ((lowGoal - this.low) * STEP_S) / 0.4;
    this.fan += clamp((this.heat.coolant > this.outside + 6 && leg.key !== 'off' ? 45 : 0) - this.fan, -0.3, 0.2);
    const { heat } = this;
    return {
      packVoltage: packV + random.normal() * 0.05,
      packCurrent: this.current + random.normal() * 0.08,
      packPower: power / 1000,
      linkVoltage: Math.max(0, this.link + random.normal() * 0.2),
      cellMean: packV / pack.cells,
      charge: this.soc,
      rangeLeft: this.soc * pack.capacityAh * 0.021,
      energyOut: this.outWh,
      energyIn: this.inWh,
      dischargeLimit: clamp(this.soc * 6 + heat.pack, 20, 300),
      chargeLimit: clamp((104 - this.soc) * 2.6, 0, 120),
      motorTemp: heat.motor,
      inverterTemp: heat.inverter,
      coolantTemp: heat.coolant,
      packTemp: heat.pack,
      chargerTemp: heat.charger,
      outsideTemp: this.outside,
      lowVoltage: this.low + random.normal() * 0.02,
      converterCurrent: this.isLive ? 18 + this.fan * 0.2 + random.normal() * 0.3 : 0,
      chargeCurrent: this.chargeCurrent,
      mainsVoltage: this.charge >= CHARGE.plugged ? 231 + random.normal() * 0.8 : 0,
      fan: this.fan,
      pump: leg.key === 'off' && !this.isLive ? 0 : 30 + this.fan * 0.6,
      compressor: this.isLive ? this.compressor : 0,
      contactor: this.contactor,
      chargeState: this.charge,
    };
  }
}
