/** A person at the pedals, a motor, a body on wheels: integrated in steps of 10 ms. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, clamp } from './draw.ts';
import { GEARS, type Leg } from './itinerary.ts';
import { STEP_S } from './columns.ts';

/** What the body is like; drawn once a vehicle. */
export interface Body {
  readonly massKg: number;
  readonly ratio: number;
  readonly wheelRadiusM: number;
  readonly torqueMaxNm: number;
  readonly regenNm: number;
  /** Set-points come in such steps, so often. */
  readonly setStepNm: number;
  readonly setEveryS: number;
  readonly torqueLagS: number;
  readonly pulsesPerTurn: number;
  readonly steeringRatio: number;
  readonly wheelbaseM: number;
}

export const drawBody = (random: Random): Body => ({
  massKg: random.between(1100, 2600),
  ratio: random.between(7, 12),
  wheelRadiusM: random.between(0.28, 0.37),
  torqueMaxNm: random.between(150, 400),
  regenNm: random.between(30, 110),
  setStepNm: random.pick([0.1, 0.5, 1, 2, 5]),
  setEveryS: random.pick([0.01, 0.02, 0.05, 0.1]),
  torqueLagS: random.between(0.03, 0.15),
  pulsesPerTurn: random.pick([44, 48, 88, 96]),
  steeringRatio: random.between(13, 18),
  wheelbaseM: random.between(2.3, 3),
});

export class Traction {
  private speed = 0;
  private pedal = 0;
  private brake = 0;
  private torqueSet = 0;
  private torque = 0;
  private angleDeg: number;
  private steer = 0;
  private steerWanted = 0;
  private turnS = 0;
  private tremor = 0;
  private acceleration = 0;
  private readonly turns: number[];
  private readonly wheels = [0, 0, 0, 0];
  private readonly pulses = [0, 0, 0, 0];
  distanceM = 0;
  powerW = 0;
  constructor(
    private readonly body: Body,
    private readonly random: Random,
  ) {
    this.angleDeg = random.between(0, 360);
    this.turns = Array.from({ length: 4 }, () => random.between(0, 200));
  }

  private feet({ wanted, gear, key }: Leg, live: boolean): void {
    const { random } = this;
    const way = gear === GEARS.reverse ? -1 : 1;
    const missing = (wanted - this.speed) * way;
    const wish = live && gear !== GEARS.park && gear !== GEARS.neutral ? clamp(missing * 0.7, -3.5, 2.6) : -1;
    this.tremor += (-this.tremor * STEP_S) / 0.5 + random.normal() * 0.12 * Math.sqrt(STEP_S / 0.5);
    const isHeld = Math.abs(wanted) < 0.1 && wish < 0.3;
    const pedalWish = wish > 0.05 && !isHeld ? clamp((wish / 2.6 + this.tremor * 0.06) * 100, 0, 100) : 0;
    const brakeWish = key !== 'off' && (isHeld || wish < -0.9) ? clamp(-wish * 14 + 6 + this.tremor * 3, 0, 90) : 0;
    this.pedal += clamp(pedalWish - this.pedal, -3.2, 1.6);
    this.brake += clamp(brakeWish - this.brake, -2, 1.4);
    if (this.pedal < 0.4) this.pedal = 0;
    if (this.brake < 0.5) this.brake = 0;
  }

  private hands(): void {
    const { random } = this;
    this.turnS -= STEP_S;
    if (this.turnS < 0) {
      this.turnS = random.between(1.5, 8);
      const moving = Math.abs(this.speed) > 0.3;
      const widest = clamp(900 / (1 + this.speed * this.speed * 0.25), 4, 420);
      if (moving) this.steerWanted = chance(random, 0.5) ? random.normal() * 2 : random.between(-widest, widest);
    }
    const wobble = Math.abs(this.speed) > 0.3 ? random.normal() * 0.12 : 0;
    this.steer += clamp((this.steerWanted - this.steer) * 0.02, -3.4, 3.4) + wobble;
  }

  private motor(row: number, { gear }: Leg, live: boolean): void {
    const { body } = this;
    const way = gear === GEARS.reverse ? -1 : 1;
    if (row % Math.round(body.setEveryS / STEP_S) === 0) {
      const fade = clamp((Math.abs(this.speed) - 1) / 2, 0, 1);
      const push = (this.pedal / 100) ** 1.3 * body.torqueMaxNm;
      const wish = this.pedal > 0 ? push : -body.regenNm * fade * (this.brake > 0 ? 1.6 : 1);
      const on = live && (gear === GEARS.drive || gear === GEARS.reverse);
      this.torqueSet = on ? Math.round((wish * way) / body.setStepNm) * body.setStepNm : 0;
    }
    this.torque += ((this.torqueSet - this.torque) * STEP_S) / body.torqueLagS;
  }

  private roll({ gear }: Leg): void {
    const { body } = this;
    const direction = Math.sign(this.speed);
    const drag = direction * (body.massKg * 0.12 + 0.42 * this.speed * this.speed);
    const braking = this.brake * body.massKg * 0.085 + (gear === GEARS.park ? 4000 : 0);
    const push = (this.torque * body.ratio * 0.95) / body.wheelRadiusM - drag;
    const before = this.speed;
    let speed = before + (push / body.massKg) * STEP_S;
    const loss = (braking / body.massKg) * STEP_S;
    speed = Math.abs(speed) <= loss ? 0 : speed - Math.sign(speed) * loss;
    this.acceleration += (((speed - before) / STEP_S - this.acceleration) * STEP_S) / 0.05;
    this.speed = speed;
    this.distanceM += Math.abs(speed) * STEP_S;
  }

  private wheel(index: number, yaw: number): void {
    const { body, random } = this;
    const side = index % 2 === 0 ? -1 : 1;
    const slip = index < 2 ? (this.torque / body.torqueMaxNm) * 0.006 : 0;
    const own = this.speed * (1 + slip) + side * yaw * 0.78;
    const hum = Math.abs(own) > 0.2 ? random.normal() * 0.01 : 0;
    this.turns[index]! += Math.abs(own * STEP_S) / (2 * Math.PI * body.wheelRadiusM);
    this.wheels[index] = Math.abs(own + hum) * 3.6;
    this.pulses[index] = Math.floor(this.turns[index]! * body.pulsesPerTurn);
  }

  /** live: whether the motor has its voltage. Returns the values of this instant. */
  step(row: number, leg: Leg, live: boolean): Record<string, number> {
    const { body, random } = this;
    this.feet(leg, live);
    this.hands();
    this.motor(row, leg, live);
    this.roll(leg);
    const curve = Math.tan((this.steer / body.steeringRatio) * (Math.PI / 180)) / body.wheelbaseM;
    const yaw = this.speed * curve;
    const rpm = (this.speed / (2 * Math.PI * body.wheelRadiusM)) * 60 * body.ratio;
    this.angleDeg = (((this.angleDeg + rpm * 6 * STEP_S) % 360) + 360) % 360;
    const losses = Math.abs(this.torque) * 4 + (live ? 250 : 0);
    this.powerW = this.torque * rpm * (Math.PI / 30) + losses;
    for (let wheel = 0; wheel < 4; wheel++) this.wheel(wheel, yaw);
    const { wheels, pulses } = this;
    return {
      wheelFL: wheels[0]!,
      wheelFR: wheels[1]!,
      wheelRL: wheels[2]!,
      wheelRR: wheels[3]!,
      pulsesFL: pulses[0]!,
      pulsesFR: pulses[1]!,
      pulsesRL: pulses[2]!,
      pulsesRR: pulses[3]!,
      speed: Math.abs(this.speed) * 3.6,
      speedSigned: this.speed * 3.6,
      motorSpeed: rpm,
      motorAngle: this.angleDeg,
      torque: this.torque + (live ? random.normal() * 0.15 : 0),
      torqueSet: this.torqueSet,
      accelerator: this.pedal,
      brakePressure: this.brake,
      steerAngle: this.steer,
      yawRate: yaw * (180 / Math.PI) + random.normal() * 0.05,
      lateral: this.speed * yaw + random.normal() * 0.03,
      longitudinal: this.acceleration + random.normal() * 0.03,
    };
  }
}
