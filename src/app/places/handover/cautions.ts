/**
 * What must be read before anything leaves Handover: the standing dangers of the trade, and what this very map does
 * not yet know. Common practice, no source; local codes and licensed practice come first.
 */
import type { SignalMap } from '../../../map/schema.ts';
import { plural } from '../../words/format.ts';

export interface Caution {
  readonly key: string;
  readonly words: string;
}

const signalsOf = (map: SignalMap): SignalMap['frames'][number]['signals'] =>
  map.frames.flatMap((frame) => frame.signals);

const GENERAL: readonly Caution[] = [
  {
    key: 'high-voltage',
    words:
      'A donor pack and drive unit carry voltages that kill, also when switched off. Work on them belongs to people licensed for it, under your local codes.',
  },
  {
    key: 'moving',
    words:
      'A frame can turn a shaft. Wheels or propeller off or clear, an emergency stop in reach, before anything is sent.',
  },
  {
    key: 'live-bus',
    words:
      'Never send on the bus of a vehicle in use: other modules will believe it. Try on a bench first, one frame at a time.',
  },
  {
    key: 'roadworthy',
    words:
      'Nothing here says that a vehicle or boat is fit for the road or the water. The inspection of your country does.',
  },
];

/** The specific ones first: they differ from part to part, and are the ones that get skipped. */
export function cautionsOf(map: SignalMap): Caution[] {
  const signals = signalsOf(map);
  const cautions: Caution[] = [];
  const untested = signals.filter((signal) => signal.sending !== 'proven').length;
  if (untested > 0)
    cautions.push({
      key: 'untested',
      words:
        untested === signals.length
          ? 'Nothing in this map was proven by sending. It was read from a recording, never tried.'
          : `${plural(untested, 'signal')} of ${signals.length} ${untested === 1 ? 'was' : 'were'} read from a recording and never proven by sending.`,
    });
  const guesses = signals.filter((signal) => signal.standing === 'guess').length;
  if (guesses > 0)
    cautions.push({
      key: 'guesses',
      words: `${plural(guesses, 'signal')} ${guesses === 1 ? 'is a guess' : 'are guesses'}: it fits, and could be chance.`,
    });
  const unsolved = map.frames.filter((frame) =>
    frame.checksums.some(({ method }) => method === 'unsolved' || method === 'mac'),
  );
  if (unsolved.length > 0)
    cautions.push({
      key: 'unsolved',
      words: `${plural(unsolved.length, 'frame')} ${unsolved.length === 1 ? 'has' : 'have'} a checksum that is not solved: ${unsolved.length === 1 ? 'it' : 'they'} cannot be sent.`,
    });
  return [...cautions, ...GENERAL];
}

export interface LeftOut {
  readonly key: string;
  readonly name: string;
  readonly why: string;
  /** A judgement rather than a fact: italic. */
  readonly inferred: boolean;
}

export interface LeftOutQuestion {
  readonly map: SignalMap;
  /** Identifiers of the capture, as the survey has them. */
  readonly seen: readonly {
    readonly bus: string;
    readonly id: string;
    readonly extended: boolean;
    readonly count: number;
    readonly direction: 'received' | 'sent';
  }[];
  readonly refused: readonly { readonly id: string; readonly place: string }[];
}

const frameKey = (frame: { bus: string; id: string; extended: boolean }): string =>
  `${frame.bus} ${frame.id}${frame.extended ? 'x' : ''}`;

export function leftOutOf({ map, seen, refused }: LeftOutQuestion): LeftOut[] {
  const inMap = new Set(map.frames.map(frameKey));
  const out: LeftOut[] = [];
  for (const frame of seen) {
    const key = frameKey(frame);
    if (frame.direction === 'sent')
      out.push({
        key: `${key} sent`,
        name: frame.id,
        why: 'sent by the logger itself, not by the vehicle',
        inferred: false,
      });
    else if (!inMap.has(key))
      out.push({
        key,
        name: frame.id,
        why: frame.count === 1 ? 'sent once, nothing learnt' : 'nothing learnt of its payload yet',
        inferred: false,
      });
  }
  for (const { id, place } of refused)
    out.push({ key: `${id} ${place}`, name: `${id} ${place}`, why: 'refused by hand', inferred: false });
  for (const frame of map.frames)
    for (const signal of frame.signals)
      if (signal.standing === 'guess' && signal.role === 'command')
        out.push({
          key: `${frameKey(frame)} ${signal.name}`,
          name: signal.name,
          why: 'a command that is a guess: kept in the map, never sent',
          inferred: true,
        });
  return out;
}
