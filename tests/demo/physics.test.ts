import { describe, expect, it } from 'vitest';
import { quantityOf, QUANTITY_NAMES, type QuantityName } from '../../src/demo/quantities.ts';
import { respondersOf } from '../../src/demo/responders.ts';
import { ACTIONS } from '../../src/demo/script.ts';
import { postVanSample } from './drives.ts';

const { truth, script } = postVanSample().drive;
const { parameters } = postVanSample().vehicle;
const at = (name: QuantityName, timeS: number): number =>
  truth.columns[name][Math.max(0, Math.min(truth.steps - 1, Math.round(timeS / truth.stepS)))] as number;

/** First moment within `withinS` at which a quantity has left the band that it kept before. */
function leaves(name: QuantityName, startS: number, withinS: number): number {
  const before = Array.from({ length: 60 }, (_, index) => at(name, startS - 0.3 + index * 0.005));
  const margin = quantityOf(name).kind === 'number' ? 6 * quantityOf(name).noise + 1e-6 : 0;
  const [least, most] = [Math.min(...before) - margin, Math.max(...before) + margin];
  for (let timeS = startS; timeS < startS + withinS; timeS += 0.005) {
    if (at(name, timeS) < least || at(name, timeS) > most) return timeS - startS;
  }
  return Infinity;
}

const median = (values: number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1] as number;

describe('the simulated vehicle obeys its physics', () => {
  it('keeps every quantity finite, and flags and states within their names', () => {
    for (const name of QUANTITY_NAMES) {
      const column = truth.columns[name];
      expect(column.every(Number.isFinite), name).toBe(true);
      const { kind, high } = quantityOf(name);
      if (kind !== 'number')
        expect(
          column.every((value) => Number.isInteger(value) && value >= 0 && value <= high),
          name,
        ).toBe(true);
    }
  });

  it('conserves energy: electric power covers shaft power and losses at every tenth step', () => {
    for (let step = 0; step < truth.steps; step += 10) {
      const timeS = step * truth.stepS;
      if (at('contactor_state', timeS) !== 3 || at('charge_current', timeS) > 0.5) continue;
      const electric = at('pack_voltage', timeS) * at('pack_current', timeS);
      const shaft = at('torque', timeS) * at('motor_speed', timeS) * 0.10472;
      expect(electric - shaft).toBeGreaterThan(-120);
      expect(electric - shaft).toBeLessThan(9000);
    }
  });

  it('turns motor and wheels in the fixed ratio of the gear (2 pi / 60 rad/s a rpm)', () => {
    let looked = 0;
    for (let step = 0; step < truth.steps; step += 20) {
      const timeS = step * truth.stepS;
      const kmh = at('vehicle_speed', timeS);
      if (kmh < 8 || at('selector', timeS) !== 3) continue;
      const fromMotor =
        ((at('motor_speed', timeS) * 2 * Math.PI) / 60 / parameters.gear) * parameters.wheelRadiusM * 3.6;
      expect(Math.abs(fromMotor / kmh - 1)).toBeLessThan(0.01);
      looked++;
    }
    expect(looked).toBeGreaterThan(100);
  });

  it('sags the pack by its resistance: voltage falls when current rises', () => {
    const pairs = Array.from({ length: Math.floor(truth.steps / 20) }, (_, index) => index * 20 * truth.stepS)
      .filter((timeS) => at('contactor_state', timeS) === 3)
      .map((timeS) => [at('pack_current', timeS), at('pack_voltage', timeS)] as const);
    const mean = (pick: 0 | 1): number => pairs.reduce((sum, pair) => sum + pair[pick], 0) / pairs.length;
    const [meanI, meanV] = [mean(0), mean(1)];
    const slope =
      pairs.reduce((sum, [i, v]) => sum + (i - meanI) * (v - meanV), 0) /
      pairs.reduce((sum, [i]) => sum + (i - meanI) ** 2, 0);
    expect(-slope).toBeGreaterThan(0.9 * parameters.packResistanceOhm);
    expect(-slope).toBeLessThan(1.6 * parameters.packResistanceOhm);
  });

  it('goes through the contactors in order: negative, pre-charge, positive', () => {
    const first = (name: QuantityName): number => truth.columns[name].indexOf(1);
    expect(first('contactor_request')).toBeGreaterThan(0);
    expect(first('contactor_negative')).toBeGreaterThan(first('contactor_request'));
    expect(first('precharge_active')).toBeGreaterThan(first('contactor_negative'));
    expect(first('contactor_positive')).toBeGreaterThan(first('precharge_active'));
    expect(at('dc_link_voltage', first('contactor_positive') * truth.stepS)).toBeGreaterThan(
      0.9 * at('pack_voltage', 5),
    );
  });

  it('answers actions in the order of cause and effect: direct before downstream', () => {
    const presses = script.actions.filter(
      ({ action, startS }) =>
        action === ACTIONS.accelerator && at('drive_allowed', startS) === 1 && at('vehicle_speed', startS) < 1,
    );
    expect(presses.length).toBeGreaterThan(1);
    const lagOf = (name: QuantityName): number => median(presses.map(({ startS }) => leaves(name, startS, 2)));
    const chain = ['accelerator', 'torque_request', 'torque', 'phase_current'] as const;
    const lags = chain.map(lagOf);
    expect(lags.every(Number.isFinite)).toBe(true);
    expect(lags[0]).toBeLessThan(0.1);
    expect([...lags].sort((a, b) => a - b)).toEqual(lags);
    expect(lagOf('vehicle_speed')).toBeGreaterThan(lags[2] as number);
  });

  it.each(Object.values(ACTIONS).filter((action) => action !== ACTIONS.plug && action !== ACTIONS.handbrake))(
    '%s moves each of its direct responders within a second',
    (action) => {
      const marks = script.actions.filter((each) => each.action === action);
      expect(marks.length).toBeGreaterThan(0);
      for (const name of respondersOf(action).direct) {
        const answered = marks.filter(({ startS }) => leaves(name, startS, 1) < 1).length;
        expect(answered, `${action}: ${name}`).toBeGreaterThan(0);
      }
    },
  );

  it('presses pedals like a person: each depth and length differs', () => {
    const presses = script.actions.filter(({ action }) => action === ACTIONS.accelerator);
    expect(new Set(presses.map(({ depth }) => depth?.toFixed(3))).size).toBe(presses.length);
    const pauses = presses.slice(1).map(({ startS }, index) => startS - (presses[index]?.endS as number));
    expect(Math.max(...pauses) / Math.min(...pauses)).toBeGreaterThan(1.3);
  });
});
