/** What the vehicle's own controllers decide: contactor order, inverter state, mode, torque wanted and allowed. */
import { ACTIONS } from '../script.ts';
import { clamp, CONTACTOR, holds, INVERTER, MODE, SELECTOR, slew, type Simulation } from './state.ts';

const STAY_AWAKE_S = 5.5;
const BODY_STAYS_S = 9;

export function stepAwake(simulation: Simulation): void {
  const { hidden } = simulation;
  const plugged = holds(simulation, ACTIONS.plug);
  if (plugged && hidden.plugSinceS === Infinity) hidden.plugSinceS = hidden.nowS;
  if (!plugged && hidden.plugSinceS !== Infinity) {
    hidden.plugSinceS = Infinity;
    hidden.keyOffSinceS = hidden.nowS;
  }
  if (holds(simulation, ACTIONS.door) || plugged || hidden.key === 'on') hidden.bodyEventS = hidden.nowS;
  hidden.powertrainAwake = hidden.key === 'on' || plugged || hidden.nowS < hidden.keyOffSinceS + STAY_AWAKE_S;
  hidden.bodyAwake = hidden.powertrainAwake || hidden.nowS < hidden.bodyEventS + BODY_STAYS_S;
}

function enterContactor({ hidden, values }: Simulation, state: number): void {
  values.contactor_state = state;
  hidden.contactorSinceS = hidden.nowS;
}

/** Negative, pre-charge, positive, pre-charge off: one common order. Gives up when the link does not fill. */
function stepContactors(simulation: Simulation): void {
  const { hidden, values } = simulation;
  const since = hidden.nowS - hidden.contactorSinceS;
  const wanted = values.contactor_request === 1;
  switch (values.contactor_state) {
    case CONTACTOR.open:
      values.contactor_negative = values.contactor_positive = values.precharge_active = 0;
      if (wanted && !values.pack_fault && since > 0.12) enterContactor(simulation, CONTACTOR.negative);
      break;
    case CONTACTOR.negative:
      values.contactor_negative = Number(since > 0.035);
      if (since > 0.1) enterContactor(simulation, CONTACTOR.linkCharging);
      break;
    case CONTACTOR.linkCharging:
      values.precharge_active = Number(values.contactor_positive === 0 || since < 0.9);
      if (values.dc_link_voltage > 0.95 * values.pack_voltage) values.contactor_positive = 1;
      if (values.contactor_positive && values.dc_link_voltage > 0.99 * values.pack_voltage) {
        values.precharge_active = 0;
        enterContactor(simulation, CONTACTOR.closed);
      } else if (since > 1.6) {
        values.pack_fault = 1;
        enterContactor(simulation, CONTACTOR.open);
      }
      break;
    case CONTACTOR.closed:
      if (!wanted) enterContactor(simulation, CONTACTOR.opening);
      break;
    case CONTACTOR.opening:
      values.contactor_positive = 0;
      values.contactor_negative = Number(since < 0.08);
      if (since > 0.15) enterContactor(simulation, CONTACTOR.open);
      break;
  }
}

function enterInverter({ hidden, values }: Simulation, state: number): void {
  if (values.inverter_state === state) return;
  values.inverter_state = state;
  hidden.inverterSinceS = hidden.nowS;
}

function inverterStateNow({ hidden, values }: Simulation): number {
  const linked = values.contactor_state === CONTACTOR.closed;
  if (!hidden.powertrainAwake) return INVERTER.standby;
  if (values.inverter_state === INVERTER.standby && values.contactor_state === CONTACTOR.linkCharging)
    return INVERTER.linkCharging;
  if (!linked && values.contactor_state === CONTACTOR.open && values.dc_link_voltage > 30) return INVERTER.discharging;
  if (!linked) return values.contactor_state === CONTACTOR.linkCharging ? INVERTER.linkCharging : INVERTER.standby;
  const driving = values.drive_allowed === 1 && values.selector !== SELECTOR.P && values.selector !== SELECTOR.N;
  return driving ? INVERTER.torque : INVERTER.ready;
}

function stepInverter(simulation: Simulation): void {
  const { hidden, values } = simulation;
  const next = inverterStateNow(simulation);
  if (next !== values.inverter_state && hidden.nowS - hidden.inverterSinceS > 0.03) enterInverter(simulation, next);
  values.inverter_ready = Number(values.inverter_state === INVERTER.ready || values.inverter_state === INVERTER.torque);
  values.inverter_derating = Number(values.inverter_temperature > 78 || values.state_of_charge < 4);
}

function modeNow({ hidden, values }: Simulation): number {
  if (values.plug_state > 0) return MODE.charging;
  if (!hidden.powertrainAwake) return hidden.bodyAwake ? MODE.waking : MODE.asleep;
  if (hidden.key === 'off') return MODE.shuttingDown;
  if (hidden.nowS - hidden.keyOnSinceS < 0.4) return MODE.waking;
  if (!values.drive_allowed) return MODE.on;
  return values.selector === SELECTOR.P || values.selector === SELECTOR.N ? MODE.ready : MODE.driving;
}

function stepSelector({ hidden, values }: Simulation): void {
  const allowed = hidden.speedMs < 0.8 && (values.brake_pressed || hidden.selectorWanted === SELECTOR.N);
  if (hidden.key === 'on' && allowed) values.selector = hidden.selectorWanted;
}

function torqueWanted({ hidden, values, parameters }: Simulation): number {
  if (!values.drive_allowed || values.selector === SELECTOR.P || values.selector === SELECTOR.N) return 0;
  const pedal = values.accelerator / 100;
  const forward = pedal > 0.02 ? parameters.torqueMaxNm * pedal ** 1.15 : 0;
  const rolling = Math.min(1, hidden.speedMs / 2.5);
  const coast = pedal > 0.02 ? 0 : 0.25 * parameters.regenMaxNm;
  const paddle = values.regen_paddle ? 0.6 * parameters.regenMaxNm : 0;
  const blend = 0.9 * parameters.regenMaxNm * Math.min(1, values.brake_pressure / 30);
  const wanted = clamp(
    forward - rolling * (coast + paddle + blend),
    values.torque_limit_regen,
    values.torque_limit_drive,
  );
  return values.selector === SELECTOR.R ? -0.6 * wanted : wanted;
}

function stepLimits({ values, parameters }: Simulation): void {
  const radians = Math.max(20, Math.abs(values.motor_speed) * 0.10472);
  const powerNm = (1000 * Math.min(parameters.powerMaxKw, values.discharge_limit)) / radians;
  values.torque_available_drive = Math.min(parameters.torqueMaxNm, powerNm) * (values.inverter_ready ? 1 : 0);
  values.torque_available_regen =
    -Math.min(parameters.regenMaxNm * 2, (1000 * values.charge_limit) / radians) * (values.inverter_ready ? 1 : 0);
  values.torque_limit_drive = slew(values.torque_limit_drive, values.torque_available_drive, 900);
  values.torque_limit_regen = slew(values.torque_limit_regen, values.torque_available_regen, 900);
}

export function stepControl(simulation: Simulation): void {
  const { hidden, values } = simulation;
  const keyOn = hidden.key === 'on' && hidden.nowS - hidden.keyOnSinceS > 0.55;
  const charging = values.plug_state >= 2;
  values.contactor_request = Number((keyOn || charging) && values.interlock_closed);
  stepContactors(simulation);
  if (simulation.inverterThere) stepInverter(simulation);
  values.drive_fault = Number(
    values.pack_fault ||
      (hidden.powertrainAwake && !simulation.inverterThere && hidden.nowS - hidden.keyOnSinceS > 0.9),
  );
  values.drive_allowed = Number(
    hidden.key === 'on' && hidden.startWanted && values.inverter_ready && !values.drive_fault && !values.door_driver,
  );
  stepSelector(simulation);
  values.vehicle_mode = modeNow(simulation);
  stepLimits(simulation);
  values.torque_request = slew(values.torque_request, torqueWanted(simulation), 620);
  values.power_request = (values.torque_request * values.motor_speed * 0.10472) / 1000;
  values.warning_lamp = Number(values.drive_fault || values.pack_fault);
}
