/** Every limit of the proof, in one place. They come from what is tested, not from any capture. */

/** Share of frames with the map's length. Lengths are fixed by software: one in a thousand allows for a garbled log. */
export const LENGTH_HOLDS = 0.999;
/** Intervals needed before a period is judged, and periods before an absence is. */
export const PERIODS_NEEDED = 10;
/** A period off by more than this share is another period: quartz clocks differ by 0.0001 at most, task rates by far more. */
export const FAR_PERIOD_SHARE = 0.02;
/** Pairs needed before a counter is judged. */
export const PAIRS_NEEDED = 20;
/** Share of pairs that continue. A wrong modulus of 16 breaks one pair in 16, that is 0.94. */
export const COUNTER_HOLDS = 0.98;
/** Counters up to this many values must have turned over before they hold. */
export const TURN_EXPECTED_UP_TO = 256;
/** Share of frames whose checksum agrees. */
export const CHECKSUM_HOLDS = 0.999;
/** Different payloads needed: a constant frame agrees with many rules. By chance an 8-bit rule passes n of them with 2^-8n. */
export const DISTINCT_PAYLOADS_NEEDED = 8;
/** Frames needed before values are judged. */
export const VALUES_NEEDED = 20;
/** Share of values named, or within the range observed before, widened. */
export const VALUES_HOLD = 0.99;
/** The range observed before, widened on both sides by this share of itself: another drive goes a little further. */
export const RANGE_MARGIN = 0.25;
/** ... and by this many raw steps at least: a temperature that was 22 or 23 may well be 25 the next day. */
export const STEPS_BEYOND = 8;
/** A leap covers at least this share of all that was ever seen. */
export const LEAP_SHARE = 0.25;
/**
 * Leaps wider than the whole range seen before, from one frame to the next, to or from further beyond it than it is wide: so
 * many refuse a signal. Quantities that a bus samples do not do that; misplaced bits and a wrong sign do.
 */
export const LEAPS_REFUSED = 3;
