/** One frame's way out: signals laid over the payload, then counters, then checksums, inner ones first. */
import { placementLength } from '../../frames/bits.ts';
import { checksumOrder } from '../../map/checksum-order.ts';
import { counterModulus } from '../../map/counter.ts';
import type { MapCounter, MapSelector } from '../../map/schema.ts';
import { writeStatements } from './bits.ts';
import type { CContext } from './context.ts';
import { encodeStatements } from './encode-signal.ts';
import { BEGUN } from './frame-decode.ts';
import { payloadSize } from './frame-header.ts';
import { heldTests, pageTests } from './frame-held.ts';
import type { CChecksum, CFrame, CGuard } from './plan.ts';
import { block, definition } from './statements.ts';
import { commentText, hexByte, u64 } from './text.ts';

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

export function encodeSource(c: CFrame, context: CContext): string[] {
  if (c.notSent !== null) return [];
  const { frame, stem } = c;
  const kept = new Map(c.leftOut.map(({ name, why }) => [name, why]));
  const order = checksumOrder(frame.checksums) ?? [];
  const body = [
    `${context.prefix}_status status = ${context.macro}_OK;`,
    `uint8_t p[${payloadSize(c)}];`,
    's->failed = 0u;',
    `if (s->begun != ${BEGUN}) {`,
    `  return ${context.macro}_NOT_BEGUN;`,
    '}',
    'memcpy(p, s->payload, sizeof p);',
    ...c.selectors.flatMap((selector) => selectorEncoding(selector, context)),
    ...pageTests(c, context),
    ...c.signals.flatMap((signal) => {
      const why = kept.get(`${frame.name}.${signal.signal.name}`);
      if (why) return [`/* ${commentText(signal.signal.name)} keeps its bits: ${commentText(why)} */`];
      const valid = `s->${signal.member}_valid == ${context.macro}_VALID`;
      return block(signal.page ? `(${signal.page}) && ${valid}` : valid, encodeStatements(signal, context));
    }),
    ...heldTests(c, context),
    ...c.counters.flatMap((counter) => counterEncoding(counter, context)),
    ...order.flatMap((index) => checksumEncoding(c.checksums[index] as CChecksum, context)),
    ...undeterminedTests(c, context),
    ...(frame.length > 0 ? [`memcpy(out, p, ${frame.length}u);`] : ['(void)out;']),
    ...c.counters.flatMap(counterStep),
    'return status;',
  ];
  return definition(`${context.prefix}_status ${stem}_encode(${stem} *s, uint8_t *out)`, body);
}
