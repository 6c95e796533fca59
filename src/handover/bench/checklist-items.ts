/**
 * What is measured on the bench before a frame is sent. Most modules that stay silent lack a wire and not a frame. Ranges are common practice, no
 * source, but for the termination (ISO 11898-2, from memory: 120 ohm at each end of the line).
 */
export const CHECK_NAMES = [
  'shaft',
  'traction-supply',
  'emergency-stop',
  'supply',
  'ground',
  'termination',
  'wake-line',
  'interlock',
  'enable',
  'crash-line',
] as const;

export type CheckName = (typeof CHECK_NAMES)[number];

export interface CheckItem {
  readonly name: CheckName;
  readonly title: string;
  readonly measure: string;
  /** In words and units. */
  readonly expected: string;
  readonly unit: string;
  /** A value outside is not ok by itself; null where no figure tells. */
  readonly range: { readonly low: number; readonly high: number } | null;
  /** No trial is planned before it is answered. */
  readonly isSafety: boolean;
  readonly whyItMatters: string;
}

export const CHECK_ITEMS: readonly CheckItem[] = [
  {
    name: 'shaft',
    title: 'Shaft uncoupled',
    measure: 'Turn the shaft by hand: it moves nothing but the rotor, and a guard covers it.',
    expected: 'uncoupled and covered, or no shaft',
    unit: '',
    range: null,
    isSafety: true,
    whyItMatters: 'a motor that starts on its own moves what is coupled to it',
  },
  {
    name: 'traction-supply',
    title: 'Traction supply absent or current-limited',
    measure: 'Voltage between the traction terminals, and the current limit set on the bench supply.',
    expected: 'below 60 V DC (absent), or a supply limited to what the leads and the part bear',
    unit: 'V',
    range: null,
    isSafety: true,
    whyItMatters: 'a traction battery gives any current that a fault asks for',
  },
  {
    name: 'emergency-stop',
    title: 'Emergency stop',
    measure: 'Press it: supply and traction supply are cut, measured, with the bench as it will run.',
    expected: 'both cut, within reach of whoever runs the trial',
    unit: '',
    range: null,
    isSafety: true,
    whyItMatters: 'a frame can be stopped only by what does not depend on frames',
  },
  {
    name: 'supply',
    title: 'Supply of the module',
    measure: 'Voltage at its connector, at each supply pin, under load.',
    expected: '12 V system: 11 to 15 V; 24 V system: 22 to 30 V',
    unit: 'V',
    range: { low: 9, high: 32 },
    isSafety: true,
    whyItMatters: 'a module below its supply limit boots and reports faults by turns',
  },
  {
    name: 'ground',
    title: 'Ground',
    measure: 'Voltage from each ground pin to the negative of the supply, under load.',
    expected: 'below 0.1 V',
    unit: 'V',
    range: { low: -0.1, high: 0.1 },
    isSafety: true,
    whyItMatters: 'a lifted ground shifts the bus levels and finds its way through other pins',
  },
  {
    name: 'termination',
    title: 'Termination of the bus',
    measure: 'Resistance between CAN-H and CAN-L, everything without supply.',
    expected: '60 ohm (120 ohm at each end of the line)',
    unit: 'ohm',
    range: { low: 54, high: 66 },
    isSafety: true,
    whyItMatters: 'with the wrong termination frames are lost, and trials read as if they were not sent',
  },
  {
    name: 'wake-line',
    title: 'Wake line or ignition line',
    measure: 'Voltage at the pin while the trial runs, and 0 V while it sleeps.',
    expected: 'supply voltage while awake',
    unit: 'V',
    range: null,
    isSafety: false,
    whyItMatters: 'without it most modules sleep, whatever is sent',
  },
  {
    name: 'interlock',
    title: 'Interlock loop',
    measure: 'Resistance of the loop at the module, every connector of it closed or bridged.',
    expected: 'below 10 ohm, or the loop current that the part wants',
    unit: 'ohm',
    range: null,
    isSafety: false,
    whyItMatters: 'an open loop is a fault that no frame clears',
  },
  {
    name: 'enable',
    title: 'Enable line',
    measure: 'Voltage at the pin while the trial runs.',
    expected: 'as it was in the vehicle when ready',
    unit: 'V',
    range: null,
    isSafety: false,
    whyItMatters: 'a hard-wired enable is asked for beside the frames',
  },
  {
    name: 'crash-line',
    title: 'Crash line',
    measure: 'Level or pulses at the pin, as the vehicle gives them when nothing has happened.',
    expected: 'as it was in the vehicle; some expect a steady pulse',
    unit: '',
    range: null,
    isSafety: false,
    whyItMatters: 'a part that has seen a crash signal may stay off for good',
  },
];
