/**
 * Thickness and darkness of a thread. Thickness tells movement: 1 px still and zero, else
 * 1.9 + (pitch - 2.2) * min(1, (c / 0.3) ^ 0.45). Darkness tells set: low, hue, full at s = 0, .5, 1, linear in sRGB;
 * so a pedal is a swelling, a counter an even tone and a checksum fine grain, and no colour says what a value is.
 */
export type Rgb = readonly [number, number, number];

/** [256] packed little-endian RGBA, by share 0..1. */
export type Ramp = Uint32Array;

/** "#156377" or "rgb(21, 99, 119)" as a browser computes it; null where it is neither. */
export function parseColour(text: string): Rgb | null {
  const hex = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(text.trim());
  if (hex) return [hex[1], hex[2], hex[3]].map((part) => parseInt(part as string, 16)) as unknown as Rgb;
  const rgb = /^rgba?\(\s*([\d.]+)[ ,]+([\d.]+)[ ,]+([\d.]+)/.exec(text.trim());
  if (rgb) return [Number(rgb[1]), Number(rgb[2]), Number(rgb[3])];
  return null;
}

export const mix = (from: Rgb, to: Rgb, share: number): Rgb => [
  from[0] + (to[0] - from[0]) * share,
  from[1] + (to[1] - from[1]) * share,
  from[2] + (to[2] - from[2]) * share,
];

export const pack = (colour: Rgb): number =>
  ((255 << 24) | (Math.round(colour[2]) << 16) | (Math.round(colour[1]) << 8) | Math.round(colour[0])) >>> 0;

export interface RampInks {
  readonly ground: Rgb;
  readonly hue: Rgb;
  readonly ink: Rgb;
  readonly night: boolean;
}

/** The three stops of the darkness scale: on paper full is deepened with ink, at night the whole is held back from glare. */
function stopsOf({ ground, hue, ink, night }: RampInks): readonly [Rgb, Rgb, Rgb] {
  return night
    ? [mix(ground, hue, 0.16), mix(ground, hue, 0.5), mix(ground, hue, 0.98)]
    : [mix(ground, hue, 0.26), hue, mix(hue, ink, 0.42)];
}

export function rampOf(inks: RampInks): Ramp {
  const [low, mid, full] = stopsOf(inks);
  return Uint32Array.from({ length: 256 }, (_, index) => {
    const share = index / 255;
    return pack(share < 0.5 ? mix(low, mid, share * 2) : mix(mid, full, (share - 0.5) * 2));
  });
}

/** Thread thickness in CSS px for a toggle share. */
export function thickness(changed: number, isSet: boolean, pitch: number): number {
  if (changed === 0 && !isSet) return 1;
  const moving = Math.min(1, Math.pow(changed / 0.3, 0.45));
  return Math.min(pitch, 1.9 + Math.max(0, pitch - 2.2) * moving);
}
