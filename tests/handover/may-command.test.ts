/** What may move the machine is told by role, unit and name; a release by name means one thing and no other that looks like it. */
import { describe, expect, it } from 'vitest';
import { mayCommand } from '../../src/handover/encode-choice.ts';
import { generateC } from '../../src/handover/c/source.ts';
import { cautionsFor } from '../../src/handover/cautions.ts';
import { releasedKeys } from '../../src/handover/sending/choice.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

const place = { lsb: { byte: 0, bit: 0 }, length: 8 };
const named = (name: string, unit = '') => mayCommand(aSignal({ ...place, name, unit }));

describe('what may move the machine', () => {
  it.each([
    ...['torque_request', 'Torque', 'drive enable', 'driveEnable', 'pre-charge', 'main_relay', 'inverter_enable'],
    ...['accelerator', 'accelerator_second_track', 'throttle', 'brake_pedal', 'gear_selector', 'speed_setpoint'],
    ...['target_speed', 'current_demand', 'moment_soll', 'Drehmoment', 'Контактор_главный', 'крутящий_момент'],
    // Cyrillic letters for Latin ones, full width, and a sign without width.
    ...['tоrque', 'соntасtоr', 'ｔｏｒｑｕｅ', 'tor\u200bque'],
  ])('%s does', (name) => expect(named(name)).toBe(true));

  it.each(['Nm', 'N·m', 'N⋅m', 'kNm', 'lbf·ft', 'Нм'])('whatever is in %s does', (unit) =>
    expect(named('x', unit)).toBe(true),
  );

  it.each(['motor_temperature', 'pack_voltage', 'wheel_speed_front_left', 'momentary_power', 'clock', 'lamp'])(
    '%s does not',
    (name) => expect(named(name, 'mm')).toBe(false),
  );
});

describe('a release of a name that two signals have', () => {
  const frame = (bus: string) => ({
    ...aFrame({
      name: 'demand',
      rest: { payload: '00 00 00 00 00 00 00 00', capture: 'c1', fromS: 0, toS: 1 },
      signals: [aSignal({ ...place, name: 'torque', observed: { min: 0, max: 200 } })],
    }),
    bus,
  });
  const release = ['demand.torque'];

  it('releases neither, and is told as none', () => {
    const twice = aMap([frame('can0'), frame('can1')]);
    expect(generateC(twice, { cautions: [], release }).leftOut.map(({ name }) => name)).toEqual([
      'demand.torque',
      'demand.torque',
    ]);
    expect(cautionsFor(twice, release).filter((line) => line.startsWith('Released'))).toEqual([]);
    expect(generateC(aMap([frame('can0')]), { cautions: [], release }).leftOut).toEqual([]);
  });
});

it('a frame whose name looks like that of another is released by bus and identifier alone', () => {
  const frames = [
    aFrame({ name: 'gear', role: 'needed-by-part', id: '0x100' }),
    aFrame({ name: 'gеar ', role: 'needed-by-part', id: '0x200' }),
  ].map((frame) => ({ ...frame, rest: { payload: '00 00 00 00 00 00 00 00', capture: 'c1', fromS: 0, toS: 1 } }));
  const map = aMap(frames);
  for (const name of ['gear', 'gеar ']) {
    const refused = releasedKeys(map, [name]);
    expect(refused.ok ? '' : refused.problems[0].code).toBe('release-of-several');
  }
  const byPlace = releasedKeys(map, ['can0/0x200']);
  expect(byPlace.ok && [...byPlace.value]).toEqual(['can0/0x200']);
});
