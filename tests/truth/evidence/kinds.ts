/** Machines of invented kinds: what they weigh, turn and carry, whose modules say what, and what a person can touch on them. */

export interface MachineKind {
  readonly name: string;
  readonly motors: number;
  readonly wheels: number;
  readonly massKg: number;
  readonly wheelRadiusM: number;
  /** Motor turns for one of the wheel. */
  readonly gear: number;
  /** Nm of one motor, and kW. */
  readonly torqueMost: number;
  readonly powerMost: number;
  readonly cells: number;
  readonly capacityAh: number;
  /** Who is who. */
  readonly desk: string;
  readonly drive: string;
  readonly inverters: readonly string[];
  readonly pack: string;
  readonly body: string;
  readonly helper: string;
  readonly panel: string;
  readonly charger: string;
  readonly selector: readonly string[];
  /** Moved by hand, a pump or motor answers. */
  readonly levers: readonly string[];
  readonly switches: readonly string[];
  /** Switched by hand, with a name for each place. */
  readonly modes: readonly (readonly [string, readonly string[]])[];
  /** What nothing on the bus tells of. */
  readonly silent: readonly string[];
}

export const KINDS: readonly MachineKind[] = [
  {
    name: 'harbour tractor',
    motors: 1,
    wheels: 4,
    massKg: 8800,
    wheelRadiusM: 0.51,
    gear: 21.3,
    torqueMost: 610,
    powerMost: 150,
    cells: 168,
    capacityAh: 230,
    desk: 'cab desk',
    drive: 'haul computer',
    inverters: ['axle inverter'],
    pack: 'rear pack',
    body: 'cab box',
    helper: 'coupling pump',
    panel: 'cab screen',
    charger: 'quay charger',
    selector: ['N', 'F', 'R', 'creep'],
    levers: ['raise plate'],
    switches: ['horn', 'beacon', 'deck lamp', 'door', 'seat', 'washer', 'mirror heat', 'coupler lock'],
    modes: [['blower', ['off', 'low', 'mid', 'high']]],
    silent: ['reading lamp', 'sun visor', 'glove box'],
  },
  {
    name: 'lift shuttle',
    motors: 1,
    wheels: 4,
    massKg: 2600,
    wheelRadiusM: 0.33,
    gear: 11.7,
    torqueMost: 180,
    powerMost: 60,
    cells: 96,
    capacityAh: 85,
    desk: 'driver post',
    drive: 'run unit',
    inverters: ['wheelset inverter'],
    pack: 'floor pack',
    body: 'cabin unit',
    helper: 'warm air unit',
    panel: 'strip display',
    charger: 'dock charger',
    selector: ['hold', 'up', 'down'],
    levers: [],
    switches: ['door left', 'door right', 'bell', 'step lamp', 'window heat', 'ski rack', 'stop cord', 'radio key'],
    modes: [
      ['cabin heat', ['none', 'half', 'full']],
      ['light scene', ['day', 'dusk', 'night']],
    ],
    silent: ['curtain', 'hatch'],
  },
  {
    name: 'two-motor loader',
    motors: 2,
    wheels: 4,
    massKg: 5400,
    wheelRadiusM: 0.47,
    gear: 26,
    torqueMost: 240,
    powerMost: 45,
    cells: 48,
    capacityAh: 400,
    desk: 'arm rest',
    drive: 'axle master',
    inverters: ['front drive', 'rear drive'],
    pack: 'belly pack',
    body: 'lamp module',
    helper: 'pump drive',
    panel: 'dial board',
    charger: 'yard charger',
    selector: ['idle', 'ahead', 'back'],
    levers: ['boom', 'tilt'],
    switches: ['horn', 'work lamps', 'park lock', 'wiper', 'cab door', 'float', 'belt'],
    modes: [['pace', ['snail', 'walk', 'run']]],
    silent: ['arm rest slide', 'rear hatch'],
  },
  {
    name: 'three-wheeler',
    motors: 1,
    wheels: 3,
    massKg: 390,
    wheelRadiusM: 0.22,
    gear: 8.4,
    torqueMost: 52,
    powerMost: 11,
    cells: 20,
    capacityAh: 60,
    desk: 'handlebar',
    drive: 'seat brain',
    inverters: ['hub drive'],
    pack: 'pack board',
    body: 'lamp board',
    helper: 'lean actuator',
    panel: 'bar display',
    charger: 'bag charger',
    selector: ['stand', 'go', 'push'],
    levers: ['lean'],
    switches: ['hooter', 'left winker', 'right winker', 'dip', 'stand foot', 'grip heat', 'lid'],
    modes: [['ride', ['mild', 'brisk', 'wet']]],
    silent: ['phone holder', 'foot rest'],
  },
  {
    name: 'orchard platform',
    motors: 2,
    wheels: 4,
    massKg: 1900,
    wheelRadiusM: 0.38,
    gear: 33,
    torqueMost: 60,
    powerMost: 9,
    cells: 28,
    capacityAh: 190,
    desk: 'basket desk',
    drive: 'base control',
    inverters: ['left motor unit', 'right motor unit'],
    pack: 'side pack',
    body: 'frame unit',
    helper: 'scissor pump',
    panel: 'base display',
    charger: 'barn charger',
    selector: ['stop', 'row', 'turn', 'road'],
    levers: ['scissor', 'deck slide'],
    switches: ['gate', 'siren', 'spot lamp', 'foot mat', 'blower', 'crate clamp'],
    modes: [['height band', ['ground', 'mid', 'top']]],
    silent: ['tool box', 'ladder'],
  },
];
