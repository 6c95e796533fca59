/** One frame in C: struct, identity macros, init, decode, encode. */
import { bitPositions, placementLength, type Placement } from '../../frames/bits.ts';
import { checksumOrder } from '../../map/checksum-order.ts';
import { counterModulus } from '../../map/counter.ts';
import type { RangeChoice } from '../../map/limits.ts';
import { parsePayload } from '../../map/raw-values.ts';
import type { MapChecksum, MapCounter, MapFrame, MapSelector, When } from '../../map/schema.ts';
import { readExpression, writeStatements } from './bits.ts';
import { checksumFunction } from './checksums.ts';
import { NameSpace, safeIdentifier } from './names.ts';
import {
  declareMember,
  decodeStatements,
  encodeStatements,
  memberKind,
  type CContext,
  type CSignal,
} from './signals.ts';
import { commentText, hexByte, u64 } from './text.ts';
import { whyNotSent, whyNotSet, type LeftOut } from '../encode-choice.ts';

interface CGuard<Rule extends MapCounter | MapSelector> {
  readonly rule: Rule;
  readonly member: string;
  readonly type: 'uint32_t' | 'uint64_t';
  readonly page: string | null;
}

interface CChecksum {
  readonly rule: MapChecksum;
  readonly name: string;
  /** Null where the rule cannot be computed. */
  readonly source: string | null;
  readonly page: string | null;
}

export interface CFrame {
  readonly frame: MapFrame;
  /** Struct and function stem, with the prefix: "sm_inverter_status". */
  readonly stem: string;
  readonly macro: string;
  readonly signals: readonly CSignal[];
  readonly selectors: readonly CGuard<MapSelector>[];
  readonly counters: readonly CGuard<MapCounter>[];
  readonly checksums: readonly CChecksum[];
  readonly stateMacros: readonly string[];
  /** Why it cannot be sent; null where it can. */
  readonly notSent: string | null;
  readonly leftOut: readonly LeftOut[];
}

/** What all frames of one source share. */
export interface SharedNames {
  readonly macros: NameSpace;
  /** Types and functions; every frame's own are claimed. */
  readonly statics: NameSpace;
  readonly released: ReadonlySet<string>;
}

/** The macros that come with every frame. */
export const frameMacros = (stem: string): string[] =>
  ['ID', 'EXTENDED', 'FD', 'LENGTH', 'PERIOD_US'].map((name) => `${stem.toUpperCase()}_${name}`);

const RESERVED_MEMBERS = ['payload', 'failed'];

/** Tests of all selectors that must hold, over the selector members of `s`; empty where the layout is always on. */
function pageTests(when: When | undefined, selectors: readonly CGuard<MapSelector>[], depth = 0): string[] {
  return Object.entries(when ?? {}).flatMap(([name, values]) => {
    const selector = selectors.find(({ rule }) => rule.name === name);
    if (!selector || values.length === 0 || depth > selectors.length) return ['0'];
    const own = values.map((value) => `s->${selector.member} == ${u64(BigInt(Math.max(0, value)))}`);
    return [...pageTests(selector.rule.when, selectors, depth + 1), own.join(' || ')];
  });
}

/** A C condition for a page; null where the layout is always on. */
function pageCondition(when: When | undefined, selectors: readonly CGuard<MapSelector>[]): string | null {
  const tests = pageTests(when, selectors);
  if (tests.length <= 1) return tests[0] ?? null;
  return tests.map((test) => `(${test})`).join(' && ');
}

function guardOf<Rule extends MapCounter | MapSelector>(
  rule: Rule,
  names: NameSpace,
  selectors: readonly CGuard<MapSelector>[],
): CGuard<Rule> {
  const member = names.claim(rule.name.toLowerCase(), (name) => [name, `${name}_sent`]);
  const type = placementLength(rule) <= 32 ? 'uint32_t' : 'uint64_t';
  return { rule, member, type, page: pageCondition(rule.when, selectors) };
}

/** Fields wider than 64 bits have no place in C; text has. */
const fitsC = (placement: Placement): boolean => placementLength(placement) <= 64;

function stateMacros(signals: readonly CSignal[], macro: string, macros: NameSpace): string[] {
  return signals.flatMap(({ signal, member, bits }) =>
    Object.entries(signal.states)
      .filter(([raw]) => /^[0-9]+$/.test(raw) && BigInt(raw) < 1n << BigInt(bits))
      .map(([raw, state]) => {
        const name = macros.claimSafe(`${macro}_${member}_${safeIdentifier(state)}`.toUpperCase());
        return `#define ${name} ${bits <= 32 ? `${raw}u` : u64(BigInt(raw))} /* ${commentText(state)} */`;
      }),
  );
}

/** Names everything of a frame and decides what of it can be sent. */
export function planFrame(frame: MapFrame, stem: string, context: CContext, names: SharedNames): CFrame {
  const { macros, statics, released } = names;
  const macro = stem.toUpperCase();
  const members = new NameSpace(RESERVED_MEMBERS);
  const selectors: CGuard<MapSelector>[] = [];
  for (const selector of frame.selectors.filter(fitsC)) selectors.push(guardOf(selector, members, []));
  const paged = selectors.map((selector) => ({ ...selector, page: pageCondition(selector.rule.when, selectors) }));
  const counters = frame.counters.filter(fitsC).map((counter) => guardOf(counter, members, paged));
  const leftOut: LeftOut[] = [];
  const signals = frame.signals.flatMap((signal) => {
    const kind = memberKind(signal);
    if (kind === null) {
      leftOut.push({ name: `${frame.name}.${signal.name}`, why: 'wider than 64 bits: not in the C decoder' });
      return [];
    }
    const member = members.claim(signal.name.toLowerCase(), (name) => [name, `${name}_valid`]);
    const number = macros.claimSafe(`${macro}_SIGNAL_${member}`.toUpperCase());
    return [{ signal, bits: placementLength(signal), kind, member, page: pageCondition(signal.when, paged), number }];
  });
  const notSent = whyNotSent(frame);
  if (notSent) leftOut.push({ name: frame.name, why: notSent });
  return {
    frame,
    stem,
    macro,
    signals,
    selectors: paged,
    counters,
    checksums: frame.checksums.map((rule, i) => {
      const name = statics.claimSafe(`${stem}_checksum_${i}`);
      return {
        rule,
        name,
        source: checksumFunction(name, rule, frame, context),
        page: pageCondition(rule.when, paged),
      };
    }),
    stateMacros: stateMacros(signals, macro, macros),
    notSent,
    leftOut: [...leftOut, ...(notSent ? [] : unsetSignals(frame, signals, released, context.ranges))],
  };
}

function unsetSignals(
  frame: MapFrame,
  signals: readonly CSignal[],
  released: ReadonlySet<string>,
  ranges: RangeChoice,
): LeftOut[] {
  return signals.flatMap(({ signal }) => {
    const why = whyNotSet(frame, signal, released, ranges);
    return why ? [{ name: `${frame.name}.${signal.name}`, why }] : [];
  });
}

const size = (frame: MapFrame): number => Math.max(1, frame.length);
const indent = (lines: readonly string[], by = '  '): string[] => lines.map((line) => by + line);

/** Statements under a page's condition, in a block of their own. */
function block(page: string | null, lines: readonly string[]): string[] {
  return [page ? `if (${page}) {` : '{', ...indent(lines), '}'];
}

export function frameHeader(c: CFrame, context: CContext): string {
  const { frame, stem, macro } = c;
  const period = frame.timing.periodMs;
  const canEncode = c.notSent === null;
  const lines = [
    `/* ${commentText(frame.name)}: bus ${commentText(frame.bus)}, ${frame.id}, ${commentText(frame.role)}.`,
    `   ${commentText(c.notSent ? `Decode only: ${c.notSent}.` : 'Decode and encode.')} */`,
    `#define ${macro}_ID UINT32_C(${frame.id})`,
    `#define ${macro}_EXTENDED ${frame.extended ? 1 : 0}`,
    `#define ${macro}_FD ${frame.fd ? 1 : 0}`,
    `#define ${macro}_LENGTH ${frame.length}`,
    `#define ${macro}_PERIOD_US UINT32_C(${period ? Math.round(period * 1000) : 0}) /* 0: not periodic */`,
    ...c.signals.map(({ number }, i) => `#define ${number} ${i + 1}u`),
    ...c.stateMacros,
    'typedef struct {',
    ...indent([
      `uint8_t payload[${size(frame)}]; /* what encode lays signals over: the rest payload after init, else the last decoded */`,
      'uint16_t failed; /* number of the signal that the last encode refused, else 0 */',
      ...c.selectors.map(({ rule, member, type }) => `${type} ${member}; /* selector ${commentText(rule.name)} */`),
      ...c.counters.flatMap(({ rule, member, type }) => [
        `${type} ${member}; /* counter ${commentText(rule.name)}: of the frame decoded, or to be sent next */`,
        ...(rule.every > 1 ? [`uint32_t ${member}_sent; /* frames already sent with it */`] : []),
      ]),
      ...c.signals.flatMap(declareMember),
    ]),
    `} ${stem};`,
    `void ${stem}_init(${stem} *s);`,
    `${context.prefix}_status ${stem}_decode(${stem} *s, const uint8_t *p, size_t length);`,
    ...(canEncode ? [`${context.prefix}_status ${stem}_encode(${stem} *s, uint8_t *out);`] : []),
  ];
  return lines.join('\n') + '\n';
}

function restArray(c: CFrame): string[] {
  const rest = c.frame.rest && parsePayload(c.frame.rest.payload);
  if (!rest || rest.length !== c.frame.length || rest.length === 0) return [];
  return [`static const uint8_t ${c.stem}_rest[${rest.length}] = {${[...rest].map(hexByte).join(', ')}};`];
}

function initSource(c: CFrame): string[] {
  const hasRest = restArray(c).length > 0;
  return [
    `void ${c.stem}_init(${c.stem} *s)`,
    '{',
    '  memset(s, 0, sizeof *s);',
    ...(hasRest
      ? [`  (void)${c.stem}_decode(s, ${c.stem}_rest, sizeof ${c.stem}_rest);`]
      : ['  /* No payload was recorded at rest: every signal is absent. */']),
    '}',
    '',
  ];
}

function checkStatements(c: CFrame, context: CContext): string[] {
  return c.checksums
    .filter(({ source, rule }) => source !== null && fitsC(rule))
    .flatMap(({ name, rule, page }) =>
      block(page, [
        `const uint64_t stored = ${readExpression(bitPositions(rule))};`,
        'uint64_t value = 0u;',
        `if (!${name}(p, &value) || value != stored) {`,
        `  status = ${context.macro}_CHECKSUM;`,
        '}',
      ]),
    );
}

function decodeSource(c: CFrame, context: CContext): string[] {
  const { frame, stem } = c;
  const guards = [...c.selectors, ...c.counters];
  const body = [
    `${context.prefix}_status status = ${context.macro}_OK;`,
    ...(frame.length > 0
      ? [`if (length < ${frame.length}u) {`, `  return ${context.macro}_SHORT;`, '}']
      : ['(void)length;', '(void)p;']),
    ...(frame.length > 0 ? [`memcpy(s->payload, p, ${frame.length}u);`] : []),
    's->failed = 0u;',
    ...guards.map(({ rule, member, type }) => `s->${member} = (${type})(${readExpression(bitPositions(rule))});`),
    ...c.counters.filter(({ rule }) => rule.every > 1).map(({ member }) => `s->${member}_sent = 0u;`),
    ...c.signals.flatMap((signal) => [
      ...(signal.page ? [`s->${signal.member}_valid = ${context.macro}_ABSENT;`] : []),
      ...block(signal.page, decodeStatements(signal, context)),
    ]),
    ...checkStatements(c, context),
    'return status;',
  ];
  return [
    `${context.prefix}_status ${stem}_decode(${stem} *s, const uint8_t *p, size_t length)`,
    '{',
    ...indent(body),
    '}',
    '',
  ];
}

function selectorEncoding({ rule, member, type, page }: CGuard<MapSelector>, context: CContext): string[] {
  const bits = placementLength(rule);
  const most = u64((1n << BigInt(bits)) - 1n);
  const full = bits === (type === 'uint32_t' ? 32 : 64);
  const check = full ? [] : [`if (raw > ${most}) {`, `  return ${context.macro}_RANGE;`, '}'];
  return block(page, [`const uint64_t raw = (uint64_t)s->${member};`, ...check, ...writeStatements(rule, 'raw')]);
}

function counterEncoding({ rule, member, page }: CGuard<MapCounter>, context: CContext): string[] {
  const tests = [rule.min > 0 && `raw < ${u64(rule.min)}`, `raw > ${u64(BigInt(Math.max(0, rule.max)))}`].filter(
    Boolean,
  );
  return block(page, [
    `const uint64_t raw = (uint64_t)s->${member};`,
    ...(rule.max >= 2 ** 53 ? [] : [`if (${tests.join(' || ')}) {`, `  return ${context.macro}_COUNTER;`, '}']),
    ...writeStatements(rule, 'raw'),
  ]);
}

/** next = min + (v - min + step) mod (max - min + 1), every `every` frames. */
function counterStep({ rule, member, type, page }: CGuard<MapCounter>): string[] {
  const modulus = counterModulus(rule);
  const step = ((rule.step % modulus) + modulus) % modulus;
  const next = `s->${member} = (${type})(${u64(rule.min)} + ((uint64_t)s->${member} - ${u64(rule.min)} + ${u64(step)}) % ${u64(modulus)});`;
  if (rule.every === 1) return block(page, [next]);
  return block(page, [
    `s->${member}_sent += 1u;`,
    `if (s->${member}_sent >= ${rule.every}u) {`,
    `  s->${member}_sent = 0u;`,
    `  ${next}`,
    '}',
  ]);
}

function checksumEncoding({ rule, name, page }: CChecksum, context: CContext): string[] {
  return block(page, [
    'uint64_t value = 0u;',
    `if (!${name}(p, &value)) {`,
    `  return ${context.macro}_COUNTER;`,
    '}',
    ...writeStatements(rule, 'value'),
  ]);
}

/** Bits whose part in a checksum the captures could not show, where the payload differs from the one at rest. */
function undeterminedTests(c: CFrame, context: CContext): string[] {
  const bits = c.checksums.flatMap(({ rule }) => rule.undetermined).filter(({ byte }) => byte < c.frame.length);
  const masks = new Map<number, number>();
  for (const { byte, bit } of bits) masks.set(byte, (masks.get(byte) ?? 0) | (1 << bit));
  const tests = [...masks].map(
    ([byte, mask]) => `(((unsigned)p[${byte}] ^ (unsigned)${c.stem}_rest[${byte}]) & ${hexByte(mask)}) != 0u`,
  );
  return tests.length > 0 ? [`if (${tests.join(' || ')}) {`, `  status = ${context.macro}_UNDETERMINED;`, '}'] : [];
}

function encodeSource(c: CFrame, context: CContext): string[] {
  if (c.notSent !== null) return [];
  const { frame, stem } = c;
  const kept = new Map(c.leftOut.map(({ name, why }) => [name, why]));
  const order = checksumOrder(frame.checksums) ?? [];
  const body = [
    `${context.prefix}_status status = ${context.macro}_OK;`,
    `uint8_t p[${size(frame)}];`,
    'memcpy(p, s->payload, sizeof p);',
    's->failed = 0u;',
    ...c.selectors.flatMap((selector) => selectorEncoding(selector, context)),
    ...c.signals.flatMap((signal) => {
      const why = kept.get(`${frame.name}.${signal.signal.name}`);
      if (why) return [`/* ${commentText(signal.signal.name)} keeps its bits: ${commentText(why)} */`];
      const valid = `s->${signal.member}_valid == ${context.macro}_VALID`;
      return block(signal.page ? `(${signal.page}) && ${valid}` : valid, encodeStatements(signal, context));
    }),
    ...c.counters.flatMap((counter) => counterEncoding(counter, context)),
    ...order.flatMap((index) => checksumEncoding(c.checksums[index] as CChecksum, context)),
    ...undeterminedTests(c, context),
    ...(frame.length > 0 ? [`memcpy(out, p, ${frame.length}u);`] : ['(void)out;']),
    ...c.counters.flatMap(counterStep),
    'return status;',
  ];
  return [`${context.prefix}_status ${stem}_encode(${stem} *s, uint8_t *out)`, '{', ...indent(body), '}', ''];
}

export function frameSource(c: CFrame, context: CContext): string {
  const checksums = c.checksums.map(({ source }) => source ?? '').filter(Boolean);
  return [
    `/* ---- ${commentText(c.frame.name)} ---- */`,
    ...restArray(c),
    '',
    ...checksums,
    ...decodeSource(c, context),
    ...initSource(c),
    ...encodeSource(c, context),
  ].join('\n');
}
