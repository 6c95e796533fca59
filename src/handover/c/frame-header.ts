/** One frame in the header: its macros, its struct, and what can be called. */
import type { CContext } from './context.ts';
import { declareMember, perUnitMacro } from './member.ts';
import type { CFrame } from './plan.ts';
import { indent } from './statements.ts';
import { commentText } from './text.ts';
import { timeoutOf } from './timeouts.ts';

/** C has no arrays without elements. */
export const payloadSize = ({ frame }: CFrame): number => Math.max(1, frame.length);

function macroLines({ frame, macro, signals, stateMacros }: CFrame): string[] {
  const period = frame.timing.periodMs;
  const timeout = timeoutOf(frame);
  return [
    `#define ${macro}_ID UINT32_C(${frame.id})`,
    `#define ${macro}_EXTENDED ${frame.extended ? 1 : 0}`,
    `#define ${macro}_FD ${frame.fd ? 1 : 0}`,
    `#define ${macro}_LENGTH ${frame.length}`,
    `#define ${macro}_PERIOD_US UINT32_C(${period ? Math.round(period * 1000) : 0}) /* 0: not periodic */`,
    `#define ${macro}_TIMEOUT_US UINT32_C(${timeout.us}) /* ${timeout.words} */`,
    ...signals.map(({ number }, i) => `#define ${number} ${i + 1}u`),
    ...signals.flatMap(perUnitMacro),
    ...stateMacros,
  ];
}

function structLines(c: CFrame): string[] {
  return [
    'typedef struct {',
    ...indent([
      `uint8_t payload[${payloadSize(c)}]; /* what encode lays signals over: the rest payload after init, else the last decoded */`,
      'uint16_t failed; /* number of the signal that the last encode refused, else 0 */',
      ...(c.notSent === null
        ? ['uint16_t begun; /* set by init and decode: what was not begun is not encoded */']
        : []),
      ...c.selectors.map(({ rule, member, type }) => `${type} ${member}; /* selector ${commentText(rule.name)} */`),
      ...c.counters.flatMap(({ rule, member, type }) => [
        `${type} ${member}; /* counter ${commentText(rule.name)}: of the frame decoded, or to be sent next */`,
        ...(rule.every > 1 ? [`uint32_t ${member}_sent; /* frames already sent with it */`] : []),
      ]),
      ...c.signals.flatMap(declareMember),
    ]),
    `} ${c.stem};`,
  ];
}

const unjudged = ({ checksums }: CFrame): string[] =>
  checksums.flatMap(({ notJudged }, i) =>
    notJudged === null ? [] : [`   Checksum ${i + 1} is not judged on reception: it ${commentText(notJudged)}.`],
  );

export function frameHeader(c: CFrame, context: CContext): string {
  const { frame, stem, notSent } = c;
  const lines = [
    `/* ${commentText(frame.name)}: bus ${commentText(frame.bus)}, ${frame.id}, ${commentText(frame.role)}.`,
    `   ${commentText(notSent ? `Decode only: ${notSent}.` : 'Decode and encode.')}`,
    ...unjudged(c),
    '*/',
    ...macroLines(c),
    ...structLines(c),
    `void ${stem}_init(${stem} *s);`,
    `${context.prefix}_status ${stem}_decode(${stem} *s, const uint8_t *p, size_t length);`,
    ...(notSent === null ? [`${context.prefix}_status ${stem}_encode(${stem} *s, uint8_t *out);`] : []),
  ];
  return lines.join('\n') + '\n';
}
