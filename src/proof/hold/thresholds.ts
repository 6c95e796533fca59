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
/** Turns after which a small counter has shown each of its values, lost frames or not. */
export const TURNS_SHOW_ALL = 8;
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
/** A value that changed less often tells nothing about where it lies: seven carries in a row by luck are below one in a hundred. */
export const CHANGES_NEEDED = 8;
/** Changes of foreign bits, and moves of the value beside them, before they are called foreign. */
export const PARTING_CHANGES = 8;
export const PARTING_MOVES = 24;
/** The value's usual move must be this many times smaller than the border, or a carry cannot be told from none. */
export const PARTING_ROOM = 6;
/** Share of such changes that speak for two values. */
export const PARTING_SHARE = 0.9;
/** Times that a bit beside the value has to go with its carries before it is called a part of it: above, below. */
export const CARRIES_ABOVE = 5;
export const CARRIES_BELOW = 16;
/** Crossings of a coding's seam that another coding does in usual steps. */
export const SEAMS_NEEDED = 3;
/** So many times smaller the other coding's steps have to be there. */
export const SEAM_EASES = 4;
/** What another place or byte order has to save, bits and as a share of the cost, before the map's is refused. */
export const RIVAL_SAVES_BITS = 60;
export const RIVAL_SAVES_SHARE = 0.15;
/** Share of values that a coding may be unable to read: a float that is no number, a digit above 9, may mean that there is no data. */
export const UNREADABLE_MOST = 0.1;
/** Share of the range seen before that the capture has to cover before a number's span is proven. */
export const COVERED_TO_PROVE = 0.5;
