/** One frame's way in: whether a payload is to be believed (`check`), what it says (`fill`), and both (`decode`). */
import { bitPositions } from '../../frames/bits.ts';
import { parsePayload } from '../../map/raw-values.ts';
import { readExpression } from './bits.ts';
import type { CContext } from './context.ts';
import { decodeStatements } from './decode-signal.ts';
import type { CFrame } from './plan.ts';
import { block, definition } from './statements.ts';
import { hexByte } from './text.ts';

/** What a struct that was begun holds; memory that is all alike does not. */
export const BEGUN = '0xC3A5u';

export function restArray(c: CFrame): string[] {
  const rest = c.frame.rest && parsePayload(c.frame.rest.payload);
  if (!rest || rest.length !== c.frame.length || rest.length === 0) return [];
  return [`static const uint8_t ${c.stem}_rest[${rest.length}] = {${[...rest].map(hexByte).join(', ')}};`, ''];
}

export function initSource(c: CFrame): string[] {
  const hasRest = restArray(c).length > 0;
  return definition(`void ${c.stem}_init(${c.stem} *s)`, [
    'memset(s, 0, sizeof *s);',
    hasRest ? `${c.stem}_fill(s, ${c.stem}_rest);` : '/* No payload was recorded at rest: every signal is absent. */',
  ]);
}

function checkSource(c: CFrame, context: CContext): string[] {
  const { frame, stem } = c;
  const judged = c.checksums.filter(({ notJudged }) => notJudged === null);
  return definition(`static ${context.prefix}_status ${stem}_check(const uint8_t *p, size_t length)`, [
    ...(frame.length > 0
      ? [`if (length < ${frame.length}u) {`, `  return ${context.macro}_SHORT;`, '}']
      : ['(void)length;']),
    ...(judged.length === 0 ? ['(void)p;'] : []),
    ...judged.flatMap(({ name, rule, payloadPage }) =>
      block(payloadPage, [
        `const uint64_t stored = ${readExpression(bitPositions(rule))};`,
        'uint64_t value = 0u;',
        `if (!${name}(p, &value) || value != stored) {`,
        `  return ${context.macro}_CHECKSUM;`,
        '}',
      ]),
    ),
    `return ${context.macro}_OK;`,
  ]);
}

function fillSource(c: CFrame, context: CContext): string[] {
  const { frame, stem } = c;
  return definition(`static void ${stem}_fill(${stem} *s, const uint8_t *p)`, [
    frame.length > 0 ? `memcpy(s->payload, p, ${frame.length}u);` : '(void)p;',
    's->failed = 0u;',
    ...(c.notSent === null ? [`s->begun = ${BEGUN};`] : []),
    ...[...c.selectors, ...c.counters].map(
      ({ rule, member, type }) => `s->${member} = (${type})(${readExpression(bitPositions(rule))});`,
    ),
    ...c.counters.filter(({ rule }) => rule.every > 1).map(({ member }) => `s->${member}_sent = 0u;`),
    ...c.signals.flatMap((signal) => [
      ...(signal.page ? [`s->${signal.member}_valid = ${context.macro}_ABSENT;`] : []),
      ...block(signal.page, decodeStatements(signal, context)),
    ]),
  ]);
}

export function decodeSource(c: CFrame, context: CContext): string[] {
  const { stem } = c;
  return [
    ...checkSource(c, context),
    ...fillSource(c, context),
    ...definition(`${context.prefix}_status ${stem}_decode(${stem} *s, const uint8_t *p, size_t length)`, [
      `const ${context.prefix}_status status = ${stem}_check(p, length);`,
      `if (status == ${context.macro}_OK) {`,
      `  ${stem}_fill(s, p);`,
      '}',
      'return status;',
    ]),
  ];
}
