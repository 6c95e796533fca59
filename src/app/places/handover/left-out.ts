/** What of a capture is not in its map, and why; facts upright, judgements in italics. */
import type { SignalMap } from '../../../map/schema.ts';

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
          name: `${frame.id} ${signal.name}`,
          why: 'a command that is a guess: kept in the map, never sent',
          inferred: true,
        });
  return out;
}
