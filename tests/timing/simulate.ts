/** Frame times of senders with known habits, seeded: what the timing finders are tried on. Seconds in, microseconds out. */
import { createRandom, type Random } from '../../src/kit/random.ts';

export interface Sent {
  /** [n] microseconds, ascending, whole. */
  readonly timeUs: Float64Array;
  /** [n] 1 where the payload is new. */
  readonly changed: Uint8Array;
}

type Frame = readonly [timeS: number, changed: number];

const exponential = (random: Random, mean: number): number => -Math.log(1 - random.next()) * mean;

function sent(frames: readonly Frame[], stepS = 1e-6): Sent {
  const sorted = [...frames].sort(([a], [b]) => a - b);
  return {
    timeUs: Float64Array.from(sorted, ([timeS]) => Math.round(Math.floor(timeS / stepS + 1e-9) * stepS * 1e6)),
    changed: Uint8Array.from(sorted, ([, changed]) => changed),
  };
}

export interface GridHabit {
  readonly periodS: number;
  readonly durationS: number;
  /** Standard deviation as a share of the period. */
  readonly jitter?: number;
  /** Share of frames lost one by one; a tenth of the losses take up to 20 frames with them. */
  readonly loss?: number;
  readonly stampStepS?: number;
  /** Delivered at multiples of this. */
  readonly batchS?: number;
}

/** A grid with a skew of up to 200 ppm, arbitration delays of 0.2 ms on average, losses and stamps of some step. */
export function onGrid(seed: string, habit: GridHabit): Sent {
  const random = createRandom(seed);
  const { periodS, durationS, jitter = 0, loss = 0, stampStepS, batchS } = habit;
  const phase = random.next() * periodS;
  const skew = 1 + (random.next() - 0.5) * 4e-4;
  const frames: Frame[] = [];
  let lostYet = 0;
  for (let tick = 0; tick * periodS < durationS; tick++) {
    if (lostYet > 0) {
      lostYet--;
      continue;
    }
    if (random.next() < loss) {
      if (random.next() < 0.1) lostYet = random.below(20);
      continue;
    }
    const time = phase + tick * periodS * skew + random.normal() * jitter * periodS + exponential(random, 0.0002);
    frames.push([batchS ? Math.ceil(time / batchS) * batchS : time, random.next() < 0.5 ? 1 : 0]);
  }
  return sent(frames, stampStepS);
}

/** A timer that starts anew from each frame: its phase wanders. */
export function relativeTimer(seed: string, periodS: number, durationS: number, jitter: number): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  for (let now = periodS; now < durationS; now += periodS * (1 + jitter * random.normal())) frames.push([now, 1]);
  return sent(frames);
}

/** A beat of known period, and frames at once on events `eventS` apart on average; the beat goes on or starts anew. */
export function beatWithEvents(
  seed: string,
  periodS: number,
  durationS: number,
  eventS: number,
  startsAnew: boolean,
): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  let beat = random.next() * periodS;
  let event = exponential(random, eventS);
  while (Math.min(beat, event) < durationS) {
    if (event < beat) {
      frames.push([event, 1]);
      if (startsAnew) beat = event + periodS;
      event += exponential(random, eventS);
    } else {
      frames.push([beat + random.normal() * 0.002 * periodS, 0]);
      beat += periodS;
    }
  }
  return sent(frames);
}

/** Frames at random times, never closer than `leastS`. */
export function atRandom(seed: string, meanS: number, durationS: number, leastS = 0): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  let now = 0;
  while ((now += leastS + exponential(random, meanS)) < durationS) frames.push([now, 1]);
  return sent(frames);
}

/** Key presses: groups of one to eight frames 50 ms apart, seconds between. */
export function presses(seed: string, durationS: number): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  let now = 0;
  while ((now += exponential(random, 4)) < durationS) {
    const count = 1 + random.below(8);
    for (let i = 0; i < count; i++) frames.push([now + i * 0.05 + random.next() * 0.01, 1]);
  }
  return sent(frames);
}

/** `count` frames `shortS` apart, again every `periodS`. */
export function inBursts(seed: string, periodS: number, count: number, shortS: number, durationS: number): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  for (let tick = 0; tick * periodS < durationS; tick++) {
    for (let i = 0; i < count; i++) frames.push([tick * periodS + i * shortS + random.normal() * 0.0003, 1]);
  }
  return sent(frames);
}

/** One period for most of the time, another for the rest. */
export function twoModes(seed: string, firstS: number, secondS: number, durationS: number): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  for (let now = 0; now < durationS; now += now < 0.7 * durationS ? firstS : secondS) {
    frames.push([now + 0.001 + random.normal() * 0.0003, 1]);
  }
  return sent(frames);
}

export interface RepeatHabit {
  readonly slowS: number;
  readonly quickS: number;
  /** Frames at each change, the first one counted. */
  readonly count: number;
  /** Mean time between changes. */
  readonly eventS: number;
  readonly durationS: number;
  /** The slow beat starts anew from the last quick frame, or goes on as before. */
  readonly startsAnew?: boolean;
  /** Without a beat: silence between changes. */
  readonly silent?: boolean;
  /** A counter makes every frame differ: news is told by nothing. */
  readonly blind?: boolean;
}

/** A slow beat; each change at once and several times in quick succession, a change during that starts it anew. */
export function repeatsChanges(seed: string, habit: RepeatHabit): Sent {
  const random = createRandom(seed);
  const { slowS, quickS, count, eventS, durationS, startsAnew = true, silent = false, blind = false } = habit;
  const frames: Frame[] = [];
  const noise = (): number => Math.abs(random.normal()) * 0.0002;
  let beat = random.next() * slowS;
  let event = exponential(random, eventS);
  let quick = Infinity;
  let left = 0;
  for (;;) {
    const now = Math.min(silent ? Infinity : beat, event, quick);
    if (now >= durationS) return sent(frames);
    frames.push([now + noise(), blind || now === event ? 1 : 0]);
    if (now === event) {
      event += exponential(random, eventS) + 0.003;
      left = count;
    }
    if (now === beat && now !== quick) beat += slowS;
    else {
      left--;
      quick = left > 0 ? now + quickS : Infinity;
      if (startsAnew) beat = now + slowS;
    }
  }
}

/** Frames on a change of something that moves in spells: never closer than `leastS`, silent between the spells. */
export function onChangeInSpells(seed: string, leastS: number, durationS: number): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  let now = 0;
  while ((now += exponential(random, 5)) < durationS) {
    const spellS = 0.2 + exponential(random, 2);
    for (const end = now + spellS; now < end; now += leastS * (random.next() < 0.8 ? 1 : 1 + random.below(3))) {
      frames.push([now + Math.abs(random.normal()) * 0.0002, 1]);
    }
  }
  return sent(frames);
}

/** A period that is no multiple of the task's tick: 25 ms by a tick of 10 ms come 20 and 30 ms apart in turn. */
export function byTicks(seed: string, periodS: number, tickS: number, durationS: number): Sent {
  const random = createRandom(seed);
  const frames: Frame[] = [];
  for (let k = 0; k * periodS < durationS; k++) {
    const time = Math.ceil((k * periodS) / tickS - 1e-9) * tickS;
    frames.push([time + Math.abs(random.normal()) * 0.0002, random.next() < 0.5 ? 1 : 0]);
  }
  return sent(frames);
}
