/** The words of the generated header that belong to no single frame: statuses, validity, verdicts on counters. */
import type { CContext } from './context.ts';
import { SEQUENCE_MACROS, SEQUENCE_NAMES } from './sequences.ts';

const STATUS = [
  ['OK', 'done'],
  ['UNDETERMINED', 'done, but the recordings do not show how the checksum depends on bits that were changed'],
  [
    'SHORT',
    'the payload is shorter than the frame: nothing was taken. Of a longer one the bytes beyond are not looked at',
  ],
  ['CHECKSUM', 'a checksum does not agree: nothing was taken'],
  ['RANGE', 'a value is outside its range: nothing was written; see failed'],
  ['MEANS_INVALID', 'a value would read as no value: nothing was written; see failed'],
  ['COUNTER', 'encode: a counter is outside its range; receive: it was repeated or wrong, and nothing was taken'],
  ['UNKNOWN', 'the map does not have this identifier'],
  [
    'NOT_RELEASED',
    'encode: a signal that may move the machine and was not released would not be as it was at rest: nothing was written; see failed',
  ],
  [
    'OTHER_PAGE',
    'encode: the page was changed, and a signal of the new one is not set: nothing was written; see failed',
  ],
  ['NOT_BEGUN', 'encode: the struct was neither begun with init nor decoded into: nothing was written'],
] as const;

/** What the `_valid` member of a signal says, and the state of an arrival. */
const VALID = [
  ['ABSENT', 'not on the page that is on: the member keeps what it said last'],
  ['VALID', ''],
  ['INVALID', 'the frame says that there is no value'],
  ['TIMED_OUT', 'the frame has been silent for too long: the member keeps what it said last'],
  ['NEVER', 'no frame was taken yet'],
] as const;

const COUNT = [
  ['NONE', 'none yet, or not on the page of the last frame'],
  ['FIRST', 'nothing to compare with: the first, or the first after a timeout'],
  ['EXPECTED', ''],
  ['REPEATED', 'the value stayed: nothing new was said'],
  ['SKIPPED', 'at least so many frames were missed as "skipped" says; this one was taken'],
  ['WRONG', 'outside its range, or a step that the rule never makes'],
] as const;

/** Names that a map's own names must not take, without the prefix. */
export const SHARED_MACROS: readonly string[] = [
  ...STATUS.map(([name]) => name),
  ...VALID.map(([name]) => name),
  ...COUNT.map(([name]) => `COUNT_${name}`),
  ...SEQUENCE_MACROS,
  'SIGNAL_MAP_H',
];

export const SHARED_NAMES: readonly string[] = [
  ...['status', 'arrival', 'count', 'receiver', 'receiver_init', 'receive', 'expire', 'slots', 'find', 'filter'],
  ...SEQUENCE_NAMES,
];

const defined = (words: readonly (readonly [string, string])[], stem: string): string[] =>
  words.map(([name, what], i) => `#define ${stem}${name} ${i}u${what ? ` /* ${what} */` : ''}`);

function statusEnum({ prefix, macro }: CContext): string[] {
  const lines = STATUS.map(
    ([name, what], i) => `  ${macro}_${name} = ${i}${i + 1 < STATUS.length ? ',' : ''} /* ${what} */`,
  );
  return ['typedef enum {', ...lines, `} ${prefix}_status;`, ''];
}

export function sharedHeader(context: CContext): string {
  const { prefix, macro } = context;
  return [
    ...statusEnum(context),
    '/* What the _valid member of a signal says, and the state of an arrival. */',
    ...defined(VALID, `${macro}_`),
    '',
    '/* What the last frame said of a counter. */',
    ...defined(COUNT, `${macro}_COUNT_`),
    '',
    '/* How a frame arrives. */',
    'typedef struct {',
    '  uint32_t at_us; /* when the last one was taken */',
    '  uint32_t taken;',
    '  uint32_t refused; /* too short, a wrong checksum, a counter repeated or wrong */',
    '  uint32_t timeouts;',
    `  uint8_t state; /* ${macro}_NEVER, ${macro}_VALID or ${macro}_TIMED_OUT */`,
    `  uint8_t last; /* the ${prefix}_status of the last one */`,
    `} ${prefix}_arrival;`,
    '',
    '/* How a counter goes on. */',
    'typedef struct {',
    '  uint64_t last; /* counted from the least value of its range */',
    '  uint32_t held; /* frames heard with this value; 0: nothing to compare with */',
    '  uint32_t skipped; /* before the last frame, at least */',
    '  uint8_t whole; /* every frame with this value was heard */',
    `  uint8_t verdict; /* ${macro}_COUNT_... */`,
    `} ${prefix}_count;`,
    '',
  ].join('\n');
}
