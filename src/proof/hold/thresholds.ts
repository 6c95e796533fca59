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
/** A long counter turns seldom. Breaks of a module that starts anew, or of a log, begin anywhere; so many of them alike are turns. */
export const BREAKS_ALIKE = 3;
export const BREAKS_ALIKE_SHARE = 2 / 3;
/** Counters up to this many values must have turned over before they hold. */
export const TURN_EXPECTED_UP_TO = 256;
/** Turns after which a small counter has shown each of its values, but for frames lost by chance. */
export const TURNS_SHOW_ALL = 5;
/** What chance does less often than this has another cause. */
export const LUCK = 1e-3;
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
/**
 * What another place has to save, bits and as a share of the cost, before the map's is refused. The other byte order of true values
 * saved 16 bits at most over 21 simulated vehicles of three makers; one bit on may save some of every hundred where noise sits in it.
 */
export const RIVAL_SAVES_BITS = 60;
export const ORDER_SAVES_SHARE = 0.04;
export const SHIFT_SAVES_SHARE = 0.12;
/** Share of values that a coding may be unable to read: a float that is no number, a digit above 9, may mean that there is no data. */
export const UNREADABLE_MOST = 0.1;
/** Share of the range seen before that the capture has to cover before a number's span is proven. */
export const COVERED_TO_PROVE = 0.5;
/** Readings of a quantity needed, whose line has then two degrees of freedom to err by. */
export const READINGS_NEEDED = 4;
/** Independent readings below which two courses may go together, or apart, by luck. */
export const INDEPENDENT_FOR_CLOCK = 8;
/** What a workshop's meter and the vehicle's own sensor may differ by, as a share: common practice, no source. */
export const METER_SHARE = 0.02;
/** Speed over ground against that of worn or new tyres: common practice, no source. */
export const COARSE_METER_SHARE = 0.04;
/** A speed on a display may be a tenth and 4 km/h above the true one (UN Regulation No. 39, paragraph 5.3, from memory): it proves no scale. */
export const DISPLAY_SHARE = 0.15;
/** One-sided share of Student's t beyond which a scale is clearly excluded: one in two thousand. */
export const CLEARLY = 0.9995;
/** A scale holds where one off by a tenth would have been refused: 1/1.1 is 0.09 away. */
export const SCALE_TOLD = 0.09;
/** Of r2: less is no tie to read a scale from; and less than that no tie at all. */
export const TIE_LEAST = 0.6;
export const NO_TIE = 0.2;
/** What a law may leave open, as a share of variance: as the search for laws has it. */
export const LAW_OPEN = {
  'alike-speeds': 0.05,
  'constant-ratio': 0.02,
  'power-balance': 0.15,
  'charge-sum': 0.3,
  'cell-sum': 0.3,
} as const;
/** Beyond this it is broken: a display that lags leaves more open on a lively drive, and is yet the same speed. */
export const LAW_BROKEN = {
  'alike-speeds': 0.4,
  'constant-ratio': 0.4,
  'power-balance': 0.95,
  'charge-sum': 0.98,
  'cell-sum': 0.95,
} as const;
export const LAW_POINTS = 100;
/** A ratio of raw values is one of gears or cells: it stays. */
export const RATIO_KEPT = 0.02;
export const RATIO_BROKEN = 0.06;
/** Slip and curves make wheels differ by a few percent; a scale that is off by a tenth is more. */
export const ALIKE_SCALES = 0.06;
/** Share of the range seen before that a member has to cover for a law to be asked. */
export const COVERED_TO_TEST = 0.25;
/** Times that an action has to be done before an answer is asked for. */
export const MARKS_NEEDED = 5;
/** A p below this leaves open that there was an answer; an answer that was fainter than this before may well be missed. */
export const ANSWER_OPEN_P = 0.2;
export const ANSWER_CLEAR_SD = 2;
/** An interval of so many periods is a silence: a task may be late, but not by half a period. */
export const SILENT_PERIODS = 1.5;
/** Of frames sent on a change, the share that brings something new: usual, and so rare that they are sent all the time. */
export const NEWS_USUAL = 0.7;
export const NEWS_RARE = 0.2;
/** An answer may take so many times as long as before, or so much longer, ms: common practice, no source. */
export const REPLY_TIMES = 4;
export const REPLY_ROOM_MS = 50;
export const REPLIES_HOLD = 0.9;
export const REPLIES_FAIL = 0.5;
/** Spread about the grid that is more than this many times what it was, and more than this share of the period, is told. */
export const JITTER_TIMES = 3;
export const JITTER_SHARE = 0.05;
/** Of links claimed at q 0.05 one in twenty is luck: only surer ones refuse a signal that answers no more. */
export const ANSWER_SURE_Q = 0.001;
