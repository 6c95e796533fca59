/** What the keys of a signal map mean, with their units, for people who read its JSON Schema. docs/signal-map.md says more. */

const PLACE = 'Least significant bit; bit 0 is the least significant of its byte.';
const LENGTH = 'Bits.';
const ORDER =
  'Where the next more significant bit is behind bit 7 of a byte: in bit 0 of the next byte (little) or of the byte before (big).';
const CONTINUES = 'Further pieces of a value that is split, each more significant than the one before.';
const WHEN = 'Selector names, each with the raw values that it must have; all must hold. null: always.';
const CONFIDENCE = '0 to 1: of all that say 0.9 about nine in ten are exactly right.';

const placed = (section: string): Record<string, string> => ({
  [`${section}.lsb`]: PLACE,
  [`${section}.length`]: LENGTH,
  [`${section}.order`]: ORDER,
  [`${section}.continues`]: CONTINUES,
});

/** By path, "[]" for the entries of a list; every path must exist. */
export const SCHEMA_WORDS: Readonly<Record<string, string>> = {
  requires:
    'Features without which a value would be decoded wrongly: a reader that lacks one refuses the frames that use it, by name.',
  'made.at': 'ISO 8601, UTC.',
  'captures[].files[].bytes': 'Size of the file in bytes.',
  'captures[].files[].sha256': 'Hexadecimal; empty where it was not worked out.',
  'buses[].bitrate': 'Bits a second in the arbitration phase; null where nobody said.',
  'buses[].dataBitrate': 'Bits a second in the data phase of CAN FD; null where there is none or nobody said.',
  'frames[].id': '"0x" and upper-case hexadecimal digits. A frame is told from others by bus, id and extended.',
  'frames[].extended': 'The identifier has 29 bits, not 11.',
  'frames[].length': 'Payload bytes.',
  'frames[].sender': 'The group of identifiers that timing says one module sends; null where it is not known.',
  'frames[].timing.periodMs': 'Milliseconds; null where there is no period.',
  'frames[].timing.jitterMs': 'Milliseconds: robust standard deviation of the residuals to the fitted grid.',
  'frames[].timing.replyTo': 'Identifier of the frame that this one answers.',
  'frames[].timing.delayMs': 'Milliseconds from that frame to this one.',
  'frames[].timing.burst.periodMs': 'Milliseconds between the frames of a burst.',
  'frames[].timing.timeoutMs': 'Milliseconds after which a receiver takes the frame as lost.',
  'frames[].timing.byMode': 'The same for each mode of the vehicle.',
  'frames[].rest': 'The payload recorded while at rest, and where from. Signals to be sent are laid over it.',
  'frames[].rest.fromS': 'Seconds from the origin of that capture.',
  'frames[].rest.toS': 'Seconds from the origin of that capture.',
  'frames[].need': 'Whether the part needs this frame from the rest of the vehicle, and how that is known.',
  ...placed('frames[].counters[]'),
  'frames[].counters[].step':
    'The next value is min + (value - min + step) mod (max - min + 1); a step may be negative.',
  'frames[].counters[].every': 'It advances at every so-manieth frame of its page.',
  'frames[].counters[].when': WHEN,
  'frames[].counters[].confidence': CONFIDENCE,
  ...placed('frames[].checksums[]'),
  'frames[].checksums[].method':
    'mac: depends on a secret and cannot be produced. unsolved: no rule was found. copy: of other bits, complemented with xorout.',
  'frames[].checksums[].width': 'Bits of the computation; the length of the field unless written.',
  'frames[].checksums[].poly':
    'Without its top bit, as init, refin, refout and xorout in the Rocksoft model (Williams 1993).',
  'frames[].checksums[].covers': 'Payload bytes in order, or byte and mask. Bits of the checksum itself count as zero.',
  'frames[].checksums[].prefix': 'Constant bytes before the covered ones.',
  'frames[].checksums[].suffix': 'Constant bytes behind them: bytes of the identifier, secrets.',
  'frames[].checksums[].prefixByCounter': 'Bytes behind the prefix, by the raw value of the first counter.',
  'frames[].checksums[].suffixByCounter': 'Bytes behind the suffix, by the raw value of the first counter.',
  'frames[].checksums[].undetermined': 'Payload bits whose part in the rule the captures could not show.',
  'frames[].checksums[].when': WHEN,
  'frames[].checksums[].confidence': CONFIDENCE,
  ...placed('frames[].selectors[]'),
  'frames[].selectors[].when': WHEN,
  'frames[].selectors[].confidence': CONFIDENCE,
  ...placed('frames[].signals[]'),
  'frames[].signals[].coding':
    "signed: two's complement. float: IEEE 754, 32 or 64 bits. bcd: four bits a digit. text: one byte a character.",
  'frames[].signals[].when': WHEN,
  'frames[].signals[].scale': 'Physical = number x scale + offset, in unit, unless there is a table.',
  'frames[].signals[].offset': 'In unit.',
  'frames[].signals[].observed': 'Seen in recordings; in unit.',
  'frames[].signals[].allowed': 'Set by a person; in unit.',
  'frames[].signals[].mayExtend': 'Still bits above and below that nothing else holds.',
  'frames[].signals[].invalid': 'Unsigned raw values that mean "no value"; hexadecimal strings beyond 2^53.',
  'frames[].signals[].states': 'Names by unsigned raw value, in decimal.',
  'frames[].signals[].table': '[number, physical] points that rise; straight lines between them, no value outside.',
  'frames[].signals[].standing': 'How far the decoding is trusted.',
  'frames[].signals[].sending': 'proven: by a bench trial on record.',
  'frames[].signals[].confidence': CONFIDENCE,
  'frames[].signals[].evidence': 'Figures behind what is claimed.',
  ...placed('frames[].unclaimed[]'),
  'sequences[].n': 'Repetitions of the event.',
  'sequences[].steps[].from': 'Raw value before.',
  'sequences[].steps[].to': 'Raw value after.',
  'sequences[].steps[].delayMs': 'Least and greatest milliseconds since the first step of a repetition.',
  'sequences[].steps[].seen': 'In how many repetitions.',
};
