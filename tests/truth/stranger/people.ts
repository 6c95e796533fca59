/** Who sits in a stranger's vehicle: a driver who follows target speeds in moods, or somebody who now and then treads on a pedal of a wreck. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, whole } from './draw.ts';

/** Percent of the pedals, degrees of the wheel, and the slope of the road in m/s². */
export interface Person {
  pedal: number;
  brake: number;
  steering: number;
  slope: number;
  /** speed: km/h. */
  step(timeS: number, speed: number): void;
}

const toward = (value: number, goal: number, share: number): number => value + (goal - value) * share;

class Visitor implements Person {
  pedal = 0;
  brake = 0;
  steering = 0;
  readonly slope = 0;
  private steerTo = 0;
  private treads = 0;
  private treadsUntilS = -1;
  private nextS: number;

  constructor(private readonly random: Random) {
    this.nextS = random.between(3, 8);
  }

  step(timeS: number): void {
    const { random } = this;
    if (timeS > this.nextS) {
      this.treadsUntilS = timeS + random.between(0.5, 2.5);
      this.treads = whole(random, 0, 3);
      this.nextS = timeS + random.between(8, 33);
      if (chance(random, 0.3)) this.steerTo = random.normal() * 60;
    }
    const treads = timeS < this.treadsUntilS ? this.treads : -1;
    this.pedal = toward(this.pedal, treads === 0 ? random.between(30, 70) : 0, 0.08);
    this.brake = toward(this.brake, treads === 1 ? 40 : 0, 0.1);
    this.steering = toward(this.steering, this.steerTo, 0.02);
  }
}

class Driver implements Person {
  pedal = 0;
  brake = 0;
  steering = 0;
  slope = 0;
  private target = 0;
  private targetUntilS: number;
  private steerTo = 0;
  private steerUntilS = 2;
  private mood = 0;
  private slopeTo = 0;

  constructor(
    private readonly random: Random,
    private readonly startS: number,
  ) {
    this.targetUntilS = random.between(3, 8);
  }

  private decide(timeS: number, speed: number): void {
    const { random } = this;
    if (timeS > this.targetUntilS) {
      const stops = this.target > 0 && chance(random, 0.3);
      this.target = stops ? 0 : random.pick([20, 30, 50, 50, 70, 90, 120]) * random.between(0.9, 1.1);
      this.targetUntilS = timeS + random.between(5, 25);
    }
    this.mood += -this.mood * 0.004 + random.normal() * 0.03;
    if (chance(random, 0.002)) this.slopeTo = random.normal() * 0.25;
    this.slope = toward(this.slope, this.slopeTo, 0.005);
    if (speed > 0) this.steering += random.normal() * 0.15;
    if (timeS > this.steerUntilS) {
      this.steerTo = random.normal() * (speed > 40 ? 15 : 150);
      this.steerUntilS = timeS + random.between(1.5, 6.5);
    }
  }

  step(timeS: number, speed: number): void {
    if (timeS > this.startS) {
      this.decide(timeS, speed);
      const mood = this.target > 0 ? this.mood : 0;
      const want = Math.max(-3, Math.min(2.8, (this.target - speed) * 0.25 + mood));
      const treads = want > 0 || (speed > 3 && want > -0.3);
      const brakes = want < -0.8 || (this.target === 0 && speed < 4);
      this.pedal = toward(this.pedal, treads ? Math.min(100, 12 + want * 30 + speed * 0.1) : 0, 0.05);
      this.brake = toward(this.brake, brakes ? Math.min(100, 15 - want * 20) : 0, 0.06);
      if (this.pedal < 0.3) this.pedal = 0;
      if (this.brake < 0.3) this.brake = 0;
    }
    this.steering = toward(this.steering, this.steerTo, 0.02);
  }
}

/** startS: null for a vehicle that never drives. */
export const personIn = (random: Random, startS: number | null): Person =>
  startS === null ? new Visitor(random) : new Driver(random, startS);
