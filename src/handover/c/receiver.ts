/** All frames of the map as one receiver: identifiers looked up in a sorted constant table, strangers counted. */
import type { SignalMap } from '../../map/schema.ts';
import type { CContext } from './context.ts';
import { NameSpace } from './names.ts';
import type { CFrame } from './plan.ts';
import { definition, indent } from './statements.ts';
import { commentText } from './text.ts';

export interface Bus {
  readonly name: string;
  readonly macro: string;
}

/** Those of the map, then those that only frames name. */
export function busesOf(map: SignalMap, prefix: string): readonly Bus[] {
  const names = new Set([...map.buses.map(({ name }) => name), ...map.frames.map(({ bus }) => bus)]);
  const macros = new NameSpace();
  return [...names].map((name) => ({
    name,
    macro: `${prefix}_BUS_${macros.claim(name.toLowerCase() || 'bus')}`.toUpperCase(),
  }));
}

interface Slot {
  readonly plan: CFrame;
  readonly member: string;
}

/** Sorted as the table is searched: by bus, kind of identifier, identifier. */
function slotsOf(plans: readonly CFrame[], buses: readonly Bus[], context: CContext): readonly Slot[] {
  // In C++ no member may be named as a type used in the same struct.
  const members = new NameSpace(['unknown', ...plans.map(({ stem }) => `${stem}_heard`)]);
  const busOf = ({ frame }: CFrame): number => buses.findIndex(({ name }) => name === frame.bus);
  return plans
    .map((plan) => ({ plan, member: members.claimSafe(plan.stem.slice(context.prefix.length + 1)) }))
    .sort(
      ({ plan: a }, { plan: b }) =>
        busOf(a) - busOf(b) ||
        Number(a.frame.extended) - Number(b.frame.extended) ||
        Number(a.frame.id) - Number(b.frame.id),
    );
}

export interface Receiver {
  /** Members of the receiver's struct, in the order of the plans. */
  readonly members: readonly string[];
  readonly header: string;
  readonly source: string;
}

const COMMENT = `/* Everything that is heard. Times are microseconds of any free-running 32-bit clock; it may wrap. Call _expire in the main
   loop, in any case before half of a wrap (35 minutes) has gone by: it marks what has been silent for too long. */`;

function headerText(slots: readonly Slot[], buses: readonly Bus[], { prefix }: CContext): string {
  return [
    ...buses.map(({ name, macro }, i) => `#define ${macro} ${i}u /* ${commentText(name)} */`),
    '',
    COMMENT,
    'typedef struct {',
    ...indent([
      ...slots.map(({ plan, member }) => `${plan.stem}_heard ${member};`),
      'uint32_t unknown; /* frames whose identifier the map does not have */',
    ]),
    `} ${prefix}_receiver;`,
    `void ${prefix}_receiver_init(${prefix}_receiver *r);`,
    `/* extended: 0 for identifiers of 11 bits, 1 for those of 29. */`,
    `${prefix}_status ${prefix}_receive(${prefix}_receiver *r, unsigned bus, uint32_t id, int extended, const uint8_t *p,`,
    '                      size_t length, uint32_t now_us);',
    `void ${prefix}_expire(${prefix}_receiver *r, uint32_t now_us);`,
    '',
  ].join('\n');
}

const EXTENDED_BIT = 0x80000000;

/** Kind and identifier in one number that rises as the slots do. */
const keyOf = ({ plan: { frame } }: Slot): string =>
  `UINT32_C(0x${(Number(frame.id) + (frame.extended ? EXTENDED_BIT : 0)).toString(16).toUpperCase()})`;

function findSource(slots: readonly Slot[], buses: readonly Bus[], { prefix }: CContext): string[] {
  const busIndex = ({ plan }: Slot): number => buses.findIndex(({ name }) => name === plan.frame.bus);
  return [
    `static const struct {`,
    '  uint32_t key; /* the identifier, with the highest bit set for those of 29 bits */',
    '  uint8_t bus;',
    `} ${prefix}_slots[${slots.length}] = {`,
    ...indent([slots.map((slot) => `{${keyOf(slot)}, ${busIndex(slot)}u}`).join(',\n  ')]),
    '};',
    '',
    `/* Place in the table, by halves; ${slots.length} where it is not there. */`,
    ...definition(`static unsigned ${prefix}_find(unsigned bus, uint32_t key)`, [
      'unsigned low = 0u;',
      `unsigned high = ${slots.length}u;`,
      'while (low < high) {',
      '  const unsigned middle = low + (high - low) / 2u;',
      `  if (${prefix}_slots[middle].bus < bus || (${prefix}_slots[middle].bus == bus && ${prefix}_slots[middle].key < key)) {`,
      '    low = middle + 1u;',
      '  } else {',
      '    high = middle;',
      '  }',
      '}',
      `return (low < ${slots.length}u && ${prefix}_slots[low].bus == bus && ${prefix}_slots[low].key == key) ? low : ${slots.length}u;`,
    ]),
  ];
}

function sourceText(slots: readonly Slot[], buses: readonly Bus[], context: CContext): string {
  const { prefix, macro } = context;
  const receive = `${prefix}_status ${prefix}_receive(${prefix}_receiver *r, unsigned bus, uint32_t id, int extended, const uint8_t *p,\n                      size_t length, uint32_t now_us)`;
  return [
    '/* ---- all frames ---- */',
    ...(slots.length > 0 ? findSource(slots, buses, context) : []),
    ...definition(`void ${prefix}_receiver_init(${prefix}_receiver *r)`, [
      ...slots.map(({ plan, member }) => `${plan.stem}_listen(&r->${member});`),
      'r->unknown = 0u;',
    ]),
    ...definition(receive, [
      ...(slots.length > 0
        ? [
            `switch (${prefix}_find(bus, extended ? (id | UINT32_C(0x80000000)) : id)) {`,
            ...slots.flatMap(({ plan, member }, i) => [
              `case ${i}u:`,
              `  return ${plan.stem}_receive(&r->${member}, p, length, now_us);`,
            ]),
            'default:',
            '  break;',
            '}',
          ]
        : ['(void)bus;', '(void)id;', '(void)extended;', '(void)p;', '(void)length;', '(void)now_us;']),
      'r->unknown += 1u;',
      `return ${macro}_UNKNOWN;`,
    ]),
    ...definition(`void ${prefix}_expire(${prefix}_receiver *r, uint32_t now_us)`, [
      ...(slots.length === 0 ? ['(void)r;', '(void)now_us;'] : []),
      ...slots.map(({ plan, member }) => `${plan.stem}_expire(&r->${member}, now_us);`),
    ]),
  ].join('\n');
}

export function planReceiver(buses: readonly Bus[], plans: readonly CFrame[], context: CContext): Receiver {
  const slots = slotsOf(plans, buses, context);
  return {
    members: plans.map((plan) => slots.find((slot) => slot.plan === plan)?.member ?? ''),
    header: headerText(slots, buses, context),
    source: sourceText(slots, buses, context),
  };
}
