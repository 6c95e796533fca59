/** What each candidate meaning would be right for, in the words of the two makers: true signals by name. */
const RIGHT: readonly (readonly [meaning: string, signal: RegExp])[] = [
  ['wheel speed', /^wheel.speed/],
  ['vehicle or motor speed', /(^|[ _])(speed|turns|rpm)\b|^vehicle_speed|^motor_speed|^display_speed|^wheel.speed/],
  ['command of a torque', /^torque.*(asked|request)/],
  ['torque as given', /^torque( \d)? given|^torque$/],
  ['current', /amps|current/],
  ['voltage of the pack or the link', /^pack.volt|link.volt|^filling volts|^dc_link/],
  ['voltage of a cell', /^cell/],
  ['state of charge', /^charge$|charge$|state_of_charge|energy_left/],
  ['pedal or lever', /pedal|lever|brake travel|brake pressure|^accelerator|brake_pressure|regen_paddle/],
  ['setting of a pump, fan or the like', / command$|pump_request/],
  ['what a pump, fan or actuator does', / feedback$|pump_duty|fan_duty|brake.pressure/],
  [
    'counter of time, distance or energy',
    /tenths|seconds|trip|odometer|pulses|up_time|clock|counter|distance|charge_energy/,
  ],
  [
    'temperature, or another slow quantity',
    /temperature|volts|pressure|supply|insulation|light|range|consumption|own value|level|charge|energy/,
  ],
  ['switch', /switch|touched|pressed|paddle|door|indicator|headlamps|handbrake|belt|heater_on|lamp/],
  [
    'lamp, relay or contact that follows a switch',
    /relay|lamp|lit|moving|standstill|enable|contactor|precharge|pressed|switch|door|indicator|ready|allowed|slip/,
  ],
  ['selector or mode', /place|selector|mode|key_position|wiper|locks|regen_level|plug_state/],
  ['state of a module', /state|mode|locks/],
];

export const isMeant = (meaning: string, signal: string): boolean =>
  RIGHT.some(([name, right]) => name === meaning && right.test(signal));
