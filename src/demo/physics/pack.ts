/** Power to current, voltage sag, the DC link, charging, and the slow heating of everything that carries current. */
import { ACTIONS } from '../script.ts';
import { clamp, CONTACTOR, holds, lag, slew, STEP_S, type Simulation } from './state.ts';

const LINK_CHARGING_S = 0.11;

/** Watts drawn from the pack: shaft power, losses, auxiliaries, less what the charger brings. */
function packPower({ hidden, values }: Simulation): number {
  const shaft = values.torque * values.motor_speed * 0.10472;
  const losses = values.inverter_ready ? 180 + 0.05 * Math.abs(shaft) + 0.018 * values.torque ** 2 : 0;
  return shaft + losses + hidden.auxiliaryW - values.charge_current * values.pack_voltage;
}

function stepCurrent(simulation: Simulation): void {
  const { hidden, values, parameters } = simulation;
  const open = parameters.cells * (3.3 + 0.9 * hidden.charge);
  const closed = values.contactor_state === CONTACTOR.closed;
  const charging = values.precharge_active ? (values.pack_voltage - values.dc_link_voltage) / 60 : 0;
  values.pack_current = closed ? packPower(simulation) / Math.max(100, values.pack_voltage) : charging;
  hidden.relaxationV = lag(hidden.relaxationV, values.pack_current * 0.45 * parameters.packResistanceOhm, 9);
  values.pack_voltage = open - values.pack_current * parameters.packResistanceOhm - hidden.relaxationV;
  hidden.charge = clamp(hidden.charge - (values.pack_current * STEP_S) / 3600 / parameters.capacityAh, 0, 1);
  values.state_of_charge = 100 * hidden.charge;
  values.charge_counter += (Math.abs(values.pack_current) * STEP_S) / 3600;
  values.energy_left = (hidden.charge * parameters.capacityAh * parameters.cells * 3.7) / 1000;
  values.dc_current = closed ? values.pack_current - (0.6 * hidden.auxiliaryW) / values.pack_voltage : 0;
}

function stepLink({ values, inverterThere }: Simulation): void {
  if (values.contactor_positive) values.dc_link_voltage = lag(values.dc_link_voltage, values.pack_voltage, 0.008);
  else if (values.precharge_active && inverterThere)
    values.dc_link_voltage = lag(values.dc_link_voltage, values.pack_voltage, LINK_CHARGING_S);
  else values.dc_link_voltage = lag(values.dc_link_voltage, 0, values.contactor_negative ? 6 : 0.45);
}

function stepCells({ values, parameters }: Simulation): void {
  const mean = values.pack_voltage / parameters.cells;
  const unequal = (0.00012 * values.pack_current * parameters.packResistanceOhm) / 0.1;
  values.cell_voltage_low = mean - 0.006 - Math.max(0, unequal);
  values.cell_voltage_high = mean + 0.005 + Math.max(0, -unequal);
  values.discharge_limit = slew(
    values.discharge_limit,
    parameters.powerMaxKw * clamp((values.state_of_charge - 3) / 12, 0, 1) + 8,
    30,
  );
  values.charge_limit = slew(
    values.charge_limit,
    45 * clamp((98 - values.state_of_charge) / 15, 0, 1) * clamp((values.pack_temperature_low + 12) / 25, 0.1, 1),
    30,
  );
}

/** Waiting, locked, charging: the current ramps as chargers do, and is let down before the plug comes out. */
function stepCharger(simulation: Simulation): void {
  const { hidden, values } = simulation;
  const since = hidden.nowS - hidden.plugSinceS;
  const plugged = holds(simulation, ACTIONS.plug);
  values.plug_state = !plugged ? 0 : since < 0.8 ? 1 : since < 3.2 ? 2 : 3;
  values.pilot_limit = plugged && since > 0.4 ? 16 : 0;
  const charging = values.plug_state === 3 && values.contactor_state === CONTACTOR.closed;
  values.charger_state = charging ? 2 : plugged ? 1 : values.charge_current > 0.1 ? 3 : 0;
  values.mains_voltage = lag(
    values.mains_voltage,
    plugged && since > 1.4 ? 231 - 0.25 * values.mains_current : 0,
    0.05,
  );
  if (values.mains_voltage < 0.5) values.mains_voltage = 0;
  values.mains_current = slew(values.mains_current, charging ? 15.6 : 0, charging ? 2.2 : 40);
  values.charge_current = (0.93 * values.mains_current * values.mains_voltage) / Math.max(100, values.pack_voltage);
  values.charge_energy += (values.charge_current * values.pack_voltage * STEP_S) / 3.6e6;
}

function warm(
  temperature: number,
  watts: number,
  heatCapacity: number,
  conductance: number,
  surroundings: number,
): number {
  return temperature + ((watts - conductance * (temperature - surroundings)) * STEP_S) / heatCapacity;
}

function stepHeat({ values, parameters }: Simulation): void {
  const torqueLoss = 0.03 * values.torque ** 2;
  const shaft = Math.abs(values.torque * values.motor_speed * 0.10472);
  const coolant = values.coolant_temperature;
  const flow = 18 + 1.4 * values.pump_duty;
  values.inverter_temperature = warm(values.inverter_temperature, 0.6 * torqueLoss + 0.02 * shaft, 5200, flow, coolant);
  values.motor_temperature = warm(values.motor_temperature, torqueLoss + 0.04 * shaft, 21000, flow, coolant);
  const given = flow * (values.inverter_temperature + values.motor_temperature - 2 * coolant);
  values.coolant_temperature = warm(coolant, given, 26000, 40 + 3 * values.fan_duty, parameters.outsideC);
  const packLoss = values.pack_current ** 2 * parameters.packResistanceOhm;
  values.pack_temperature_high = warm(values.pack_temperature_high, packLoss, 160_000, 6, parameters.outsideC);
  values.pack_temperature_low = warm(values.pack_temperature_low, 0.8 * packLoss, 190_000, 9, parameters.outsideC);
  values.charger_temperature = warm(
    values.charger_temperature,
    0.07 * values.mains_current * values.mains_voltage,
    3600,
    4,
    parameters.outsideC,
  );
  values.cabin_temperature = warm(
    values.cabin_temperature,
    1000 * values.heater_power,
    30_000,
    55,
    parameters.outsideC,
  );
}

export function stepPack(simulation: Simulation): void {
  stepCharger(simulation);
  stepCurrent(simulation);
  stepLink(simulation);
  stepCells(simulation);
  stepHeat(simulation);
}
