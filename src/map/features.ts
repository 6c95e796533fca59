/** Which features a map really uses: those without which a value would be decoded wrongly (`requires`). */
import { FEATURES, type Feature, type MapFrame, type SignalMap, type When } from './schema.ts';

interface Placed {
  readonly when?: When | undefined;
  readonly continues?: readonly unknown[] | undefined;
}

const isPaged = (item: Placed): boolean => item.when !== null && item.when !== undefined;
const isSplit = (item: Placed): boolean => (item.continues?.length ?? 0) > 0;

const USES: Readonly<Record<Feature, (frame: MapFrame) => boolean>> = {
  when: ({ signals, counters, selectors }) => [...signals, ...counters, ...selectors].some(isPaged),
  continues: ({ signals, counters, selectors, checksums, unclaimed }) =>
    [...signals, ...counters, ...selectors, ...checksums, ...unclaimed].some(isSplit),
  table: ({ signals }) => signals.some((signal) => signal.table !== null && signal.table.length > 0),
  'checksum-when': ({ checksums }) => checksums.some(isPaged),
};

/** The features that one frame uses, in the order of `FEATURES`. */
export function featuresOfFrame(frame: MapFrame): Feature[] {
  return FEATURES.filter((feature) => USES[feature](frame));
}

/** What `requires` must list for these frames, in the order of `FEATURES`. */
export function requiredFeatures(map: Pick<SignalMap, 'frames'>): Feature[] {
  return FEATURES.filter((feature) => map.frames.some(USES[feature]));
}

export const isKnownFeature = (feature: string): feature is Feature =>
  (FEATURES as readonly string[]).includes(feature);
