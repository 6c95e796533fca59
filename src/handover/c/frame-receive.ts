/**
 * One frame as it is heard: whether it arrives, in time and whole, whether its counters go on, and what it said last. What is
 * refused changes no value: the struct keeps the last good frame, and the timeout runs on.
 */
import { bitPositions } from '../../frames/bits.ts';
import { doubtOf } from '../../map/doubt.ts';
import type { MapCounter } from '../../map/schema.ts';
import { readExpression } from './bits.ts';
import type { CContext } from './context.ts';
import { restArray } from './frame-decode.ts';
import { countRule } from './counter-rule.ts';
import type { CFrame, CGuard } from './plan.ts';
import { block, definition, indent } from './statements.ts';
import { commentText, u64 } from './text.ts';
import { timeoutOf } from './timeouts.ts';

/** A counter that the merged maps tell differently refuses no frame. */
const judged = ({ counters }: CFrame): readonly CGuard<MapCounter>[] =>
  counters.filter(({ rule }) => doubtOf(rule) === null);

export function receiveHeader(c: CFrame, { prefix }: CContext): string {
  const { stem } = c;
  return [
    'typedef struct {',
    ...indent([
      `${stem} values; /* of the last frame that was taken */`,
      `${prefix}_arrival arrival;`,
      ...judged(c).map(({ member, rule }) => `${prefix}_count ${member}; /* counter ${commentText(rule.name)} */`),
    ]),
    `} ${stem}_heard;`,
    `void ${stem}_listen(${stem}_heard *h);`,
    `${prefix}_status ${stem}_receive(${stem}_heard *h, const uint8_t *p, size_t length, uint32_t now_us);`,
    `void ${stem}_expire(${stem}_heard *h, uint32_t now_us);`,
    '',
  ].join('\n');
}

function ruleConstant(rule: MapCounter, prefix: string): string {
  const { min, modulus, step, unit, inverse, every } = countRule(rule);
  const parts = [min, modulus, step, unit, inverse].map(u64);
  return `static const ${prefix}_count_rule rule = {${parts.join(', ')}, ${every}u};`;
}

function judgeStatements(c: CFrame, context: CContext): string[] {
  const counters = judged(c);
  if (counters.length === 0) return [];
  const judge = context.use('judge');
  const each = counters.flatMap(({ rule, member, payloadPage }) => {
    const lines = block(payloadPage, [
      ruleConstant(rule, context.prefix),
      `if (!${judge}(&rule, &h->${member}, ${readExpression(bitPositions(rule))})) {`,
      `  status = ${context.macro}_COUNTER;`,
      '}',
    ]);
    if (payloadPage === null) return lines;
    return [
      ...lines,
      'else {',
      `  h->${member}.verdict = ${context.macro}_COUNT_NONE;`,
      `  h->${member}.skipped = 0u;`,
      '}',
    ];
  });
  return [`if (status == ${context.macro}_OK) {`, ...indent(each), '}'];
}

function markSource({ stem, signals }: CFrame): string[] {
  return definition(`static void ${stem}_mark(${stem} *s, uint8_t valid)`, [
    ...(signals.length === 0 ? ['(void)s;', '(void)valid;'] : []),
    ...signals.map(({ member }) => `s->${member}_valid = valid;`),
  ]);
}

function listenSource({ stem }: CFrame, { macro }: CContext): string[] {
  return definition(`void ${stem}_listen(${stem}_heard *h)`, [
    'memset(h, 0, sizeof *h);',
    `${stem}_init(&h->values);`,
    `${stem}_mark(&h->values, ${macro}_NEVER);`,
    `h->arrival.state = ${macro}_NEVER;`,
  ]);
}

function expireSource(c: CFrame, context: CContext): string[] {
  const { stem } = c;
  const { macro } = context;
  const head = `void ${stem}_expire(${stem}_heard *h, uint32_t now_us)`;
  if (timeoutOf(c.frame).us === 0) return definition(head, ['(void)h;', '(void)now_us;']);
  const late = `${context.use('late')}(h->arrival.at_us, now_us, ${c.macro}_TIMEOUT_US)`;
  return definition(head, [
    `if (h->arrival.state == ${macro}_VALID && ${late}) {`,
    `  h->arrival.state = ${macro}_TIMED_OUT;`,
    '  h->arrival.timeouts += 1u;',
    `  ${stem}_mark(&h->values, ${macro}_TIMED_OUT);`,
    // What was said last is stale: whoever encodes these values sends what was recorded at rest.
    ...(restArray(c).length > 0 ? [`  memcpy(h->values.payload, ${stem}_rest, sizeof ${stem}_rest);`] : []),
    // A sender that was silent may have started again: its next value has nothing to follow.
    ...judged(c).map(({ member }) => `  h->${member}.held = 0u;`),
    '}',
  ]);
}

function receiveSource(c: CFrame, context: CContext): string[] {
  const { stem } = c;
  const { prefix, macro } = context;
  const counts = judged(c).length > 0;
  return definition(
    `${prefix}_status ${stem}_receive(${stem}_heard *h, const uint8_t *p, size_t length, uint32_t now_us)`,
    [
      `${counts ? '' : 'const '}${prefix}_status status = ${stem}_check(p, length);`,
      `${stem}_expire(h, now_us);`,
      ...judgeStatements(c, context),
      'h->arrival.last = (uint8_t)status;',
      `if (status == ${macro}_OK) {`,
      `  ${stem}_fill(&h->values, p);`,
      '  h->arrival.at_us = now_us;',
      `  h->arrival.state = ${macro}_VALID;`,
      '  h->arrival.taken += 1u;',
      '} else {',
      '  h->arrival.refused += 1u;',
      '}',
      'return status;',
    ],
  );
}

export function receptionSource(c: CFrame, context: CContext): string[] {
  return [...markSource(c), ...listenSource(c, context), ...expireSource(c, context), ...receiveSource(c, context)];
}
