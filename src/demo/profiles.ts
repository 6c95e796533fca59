/** Kinds of vehicle for scorecards: how many modules and identifiers, which buses, which habits prevail. */
export interface Profile {
  readonly name: string;
  /** Least and most, inclusive. */
  readonly modules: readonly [number, number];
  readonly identifiers: readonly [number, number];
  readonly buses: 1 | 2;
  /** Share of modules that use 29-bit identifiers. */
  readonly extended: number;
  /** Share of modules that send CAN FD frames. */
  readonly fd: number;
  /** Share of modules whose frames are guarded. */
  readonly guarded: number;
  /** Of the guarded modules, the share with a keyed tag, and with a rule that no finder knows. */
  readonly keyed: number;
  readonly odd: number;
  /** Whether paged topics come first. */
  readonly paged: boolean;
  /** Share of unused bytes filled with noise. */
  readonly noise: number;
  /** Length of the drive it is usually recorded over. */
  readonly durationS: number;
}

const usual: Profile = {
  name: 'plain',
  modules: [5, 7],
  identifiers: [25, 34],
  buses: 1,
  extended: 0.1,
  fd: 0,
  guarded: 0.45,
  keyed: 0.03,
  odd: 0.02,
  paged: false,
  noise: 0.03,
  durationS: 180,
};

export const PROFILES = {
  plain: usual,
  dense: { ...usual, name: 'dense', modules: [8, 9], identifiers: [55, 55], buses: 2, guarded: 0.5 },
  guarded: { ...usual, name: 'guarded', modules: [6, 8], identifiers: [30, 40], guarded: 1, keyed: 0.12, odd: 0.1 },
  paged: { ...usual, name: 'paged', identifiers: [28, 36], paged: true },
  extended: { ...usual, name: 'extended', extended: 1 },
  fd: { ...usual, name: 'fd', fd: 0.7, modules: [6, 8], identifiers: [25, 32] },
  short: { ...usual, name: 'short', durationS: 40 },
} as const satisfies Record<string, Profile>;

export type ProfileName = keyof typeof PROFILES;
