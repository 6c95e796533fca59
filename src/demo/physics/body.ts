/** Doors, lamps, heater, pumps, the low-voltage supply, clock and odometer. */
import { ACTIONS } from '../script.ts';
import { CONTACTOR, holds, lag, slew, STEP_S, wander, type Simulation } from './state.ts';

const FLASH_HZ = 1.45;

function stepSwitches(simulation: Simulation): void {
  const { hidden, values } = simulation;
  values.door_driver = Number(holds(simulation, ACTIONS.door));
  values.handbrake = Number(holds(simulation, ACTIONS.handbrake));
  values.indicator_left = Number(holds(simulation, ACTIONS.indicator));
  values.lamp_left_lit = Number(values.indicator_left === 1 && (hidden.nowS * FLASH_HZ) % 1 < 0.5);
  values.locks = hidden.key === 'on' ? 0 : hidden.bodyAwake ? 1 : 2;
  values.belt_fastened = Number(hidden.key === 'on' && hidden.nowS - hidden.keyOnSinceS > 1.7);
}

function stepClimate(simulation: Simulation): void {
  const { values, hidden } = simulation;
  values.heater_on = Number(holds(simulation, ACTIONS.heater));
  const powered = values.heater_on === 1 && values.contactor_state === CONTACTOR.closed;
  values.heater_power = slew(values.heater_power, powered ? 2.6 - 0.03 * (values.cabin_temperature - 10) : 0, 1.3);
  const wanted = hidden.powertrainAwake ? Math.min(100, 22 + 1.6 * Math.max(0, values.inverter_temperature - 18)) : 0;
  values.pump_request = Math.round(wanted / 2) * 2;
  values.pump_duty =
    values.pump_request === 0
      ? Math.max(0, values.pump_duty - 60 * STEP_S)
      : lag(values.pump_duty, values.pump_request, 0.8);
  values.fan_duty = values.coolant_temperature > 40 ? 35 : 0;
}

function stepSupply({ values, hidden }: Simulation): void {
  const converter = values.contactor_state === CONTACTOR.closed;
  const load =
    0.05 * values.lamp_left_lit + 0.08 * values.brake_lamp + 0.002 * values.pump_duty + 0.04 * values.headlamps;
  values.supply_voltage = lag(
    values.supply_voltage,
    (converter ? 14.15 : hidden.powertrainAwake ? 12.15 : 12.5) - load,
    converter ? 0.25 : 1.5,
  );
  values.inverter_supply = values.supply_voltage - 0.12;
  hidden.auxiliaryW = converter ? 310 + 420 * load + 1000 * values.heater_power : 0;
}

function stepClock({ hidden, values, parameters }: Simulation): void {
  const day = Math.floor(parameters.clockS + hidden.nowS);
  values.clock_hour = Math.floor(day / 3600) % 24;
  values.clock_minute = Math.floor(day / 60) % 60;
  values.clock_second = day % 60;
  if (hidden.bodyAwake) values.up_time += STEP_S;
  values.odometer = parameters.odometerKm + hidden.distanceM / 1000;
  values.trip = 12.6 + hidden.distanceM / 1000;
  values.display_speed = values.vehicle_speed * parameters.displayFactor + (values.vehicle_speed > 0 ? 0.8 : 0);
  values.range_left = values.energy_left * 5.2;
}

export function stepBody(simulation: Simulation): void {
  stepSwitches(simulation);
  stepClimate(simulation);
  stepSupply(simulation);
  stepClock(simulation);
  const { values, parameters, hidden } = simulation;
  values.light_level = Math.max(0, values.light_level + wander(simulation, 0, 8, 1));
  values.display_light = lag(values.display_light, values.light_level > 700 ? 60 : 40, 2);
  values.outside_temperature = parameters.outsideC + 0.0002 * hidden.distanceM;
  values.insulation = 2350 - 0.4 * (values.heater_power * 100);
  const used = values.pack_current * values.pack_voltage;
  values.consumption = lag(values.consumption, Math.max(0, Math.min(59, used / Math.max(1, hidden.speedMs) / 36)), 20);
}
