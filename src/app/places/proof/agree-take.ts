/** What of a merged map goes into the dossier: signals that someone understood, names of frames, rules that were chosen. The rest is the recording's. Pure. */
import type { Dossier } from '../../../jobs/dossier.ts';
import { bitPositions, type Placement } from '../../../frames/bits.ts';
import { frameKey } from '../../../map/identifiers.ts';
import { canCoincide } from '../../../map/pages.ts';
import type { MapChecksum, MapCounter, MapFrame, MapSignal, SignalMap } from '../../../map/schema.ts';
import { isBlank } from '../../../proof/merge/merge-signal.ts';
import { isMadeName } from '../../../proof/merge/rank.ts';
import type { Merged } from '../../../proof/merge/types.ts';
import { readingOf } from '../../stores/proofs.ts';
import { keepRule, sameFrame } from '../payloads/decisions.ts';
import { placementKey } from '../../pictures/bands-words.ts';
import { conflictsOf, type Choices } from './agree.ts';

export interface Taken {
  readonly dossier: Dossier;
  readonly signals: number;
  readonly names: number;
  readonly rules: number;
  /** Identifiers of theirs that the recording does not have: they stand in the merged map alone. */
  readonly elsewhere: number;
}

const placeOf = (signal: MapSignal): string => placementKey(signal as Placement, signal.when);

/** What a person said of a signal, as against what any recording shows. */
const saidOf = (signal: MapSignal): string =>
  JSON.stringify([signal.name, signal.role, readingOf(signal), signal['disputed'] ?? null]);

function isNews(signal: MapSignal, mine: MapFrame): boolean {
  const own = mine.signals.find((one) => placeOf(one) === placeOf(signal));
  if (own) return saidOf(own) !== saidOf(signal);
  return !isBlank(signal) || !isMadeName(signal.name, mine.id);
}

const bitsOf = (signal: MapSignal): readonly number[] => bitPositions(signal as Placement);
const shareBits = (a: MapSignal, b: MapSignal): boolean => {
  const bits = new Set(bitsOf(a));
  return canCoincide(a.when, b.when) && bitsOf(b).some((bit) => bits.has(bit));
};

type Entry = Dossier['signals'][number];

/** The dossier's own signals in the way of what is taken are set aside, not thrown away. */
function withSignals(dossier: Dossier, frame: MapFrame, news: readonly MapSignal[]): Dossier {
  const { bus, id, extended } = frame;
  const inTheWay = ({ signal, ...at }: Entry): boolean =>
    sameFrame(at, frame) && news.some((one) => shareBits(one, signal) || one.name === signal.name);
  const aside = dossier.signals.filter(
    (entry) => inTheWay(entry) && !news.some((one) => saidOf(one) === saidOf(entry.signal)),
  );
  const before = Array.isArray(dossier['setAside']) ? (dossier['setAside'] as unknown[]) : [];
  return {
    ...dossier,
    signals: [
      ...dossier.signals.filter((entry) => !inTheWay(entry)),
      ...news.map((signal) => ({ bus, id, extended, signal })),
    ],
    ...(aside.length > 0 ? { setAside: [...before, ...aside] } : {}),
  };
}

/** Rules of guards that were chosen from theirs. */
function withRules(dossier: Dossier, base: Merged, choices: Choices): { dossier: Dossier; rules: number } {
  let [changed, rules] = [dossier, 0];
  for (const { key, item, section, first, second } of conflictsOf(base)) {
    if (choices[key] !== 'second' || !item.frame || second.length !== 1 || first.length !== 1) continue;
    if (section !== 'counters' && section !== 'checksums') continue;
    const rule = second[0] as unknown;
    const hand = section === 'counters' ? { counter: rule as MapCounter } : { checksum: rule as MapChecksum };
    changed = keepRule(changed, item.frame, hand, first[0] as Placement);
    rules++;
  }
  return { dossier: changed, rules };
}

/**
 * @param mine the map as it was before
 * @param base merged without choices, `final` with them
 */
export function takeMerged(dossier: Dossier, mine: SignalMap, base: Merged, final: Merged, choices: Choices): Taken {
  const own = new Map(mine.frames.map((frame) => [frameKey(frame), frame]));
  let [changed, signals, names, elsewhere] = [dossier, 0, 0, 0];
  for (const frame of final.map.frames) {
    const before = own.get(frameKey(frame));
    if (!before) {
      elsewhere++;
      continue;
    }
    const news = frame.signals.filter((signal) => isNews(signal, before));
    if (news.length > 0) changed = withSignals(changed, before, news);
    signals += news.length;
    if (frame.name === before.name || isMadeName(frame.name, frame.id)) continue;
    const { bus, id, extended } = before;
    const others = changed.frameNames.filter((one) => !sameFrame(one, before));
    changed = { ...changed, frameNames: [...others, { bus, id, extended, name: frame.name }] };
    names++;
  }
  const ruled = withRules(changed, base, choices);
  return { dossier: ruled.dossier, signals, names, rules: ruled.rules, elsewhere };
}
