/** Cautions tell again what a person released, by name. */
import { expect, it } from 'vitest';
import { cautionsFor, USUAL_CAUTIONS } from '../../src/handover/cautions.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

const MAP = aMap([
  aFrame({
    name: 'drive',
    signals: [aSignal({ name: 'torque_wanted', lsb: { byte: 0, bit: 0 }, length: 16, role: 'command' })],
  }),
]);

it('names what was released, and nothing that the map has not', () => {
  const told = cautionsFor(MAP, ['drive.torque_wanted', 'drive.gone']).filter((words) => /^Released/.test(words));
  expect(told).toHaveLength(1);
  expect(told[0]).toContain('drive.torque_wanted');
  expect(told[0]).not.toContain('gone');
});

it('says nothing of releases where there are none', () => {
  expect(cautionsFor(MAP, ['drive.gone'])).toEqual(cautionsFor(MAP));
  expect(cautionsFor(MAP).slice(0, USUAL_CAUTIONS.length)).toEqual(USUAL_CAUTIONS);
});
