/** The schedule's source: the table of frames, and a step that sends what is due. */
import { scheduleComment } from './schedule-header.ts';
import type { CScheduled, ScheduleContent, ScheduleNames } from './schedule-content.ts';
import { STEP } from './schedule-step.ts';

const flag = (on: boolean): string => (on ? '1u' : '0u');

function tableRow({ frame, stem, busMacro, kind, periodUs, firstUs, burstCount, burstUs }: CScheduled): string {
  const macro = stem.toUpperCase();
  const onChange = kind === 'on-change' || kind === 'mixed';
  const cells = [
    `UINT32_C(${frame.id})`,
    `UINT32_C(${firstUs ?? 0})`,
    `UINT32_C(${periodUs})`,
    `UINT32_C(${burstUs})`,
    `${burstCount}u`,
    busMacro,
    flag(frame.extended),
    flag(frame.fd),
    `${frame.length}u`,
    flag(onChange),
    flag(firstUs !== null),
  ];
  return `  {${cells.join(', ')}}, /* ${macro} */`;
}

function sendCase({ stem, member, macro: number }: CScheduled, { prefix, macro }: ScheduleNames): string {
  const status = prefix.toUpperCase();
  return `  case ${number}: {
    const ${stem} before = s->live.${member};
    const ${prefix}_status status = ${stem}_encode(&s->live.${member}, data);
    if (status != ${status}_OK && status != ${status}_UNDETERMINED) {
      return ${macro}_HAS_FAILED;
    }
    if (put(user, row->bus, row->id, (int)row->extended, (int)row->fd, data, row->length) != 0) {
      s->live.${member} = before;
      return ${macro}_WAS_REFUSED;
    }
    return ${macro}_WAS_SENT;
  }`;
}

export function scheduleSource(content: ScheduleContent): string {
  const { names, frames } = content;
  const { stem, macro } = names;
  const words: Readonly<Record<string, string>> = {
    STEM: stem,
    STATE: `${stem}_state`,
    ROW: `${stem}_row`,
    ROWS: `${stem}_rows`,
    NEXT: `${stem}_next`,
    TURN: `${stem}_turn`,
    SEND: `${stem}_send`,
    MACRO: macro,
    SENT: `${macro}_WAS_SENT`,
    REFUSED: `${macro}_WAS_REFUSED`,
    FAILED: `${macro}_HAS_FAILED`,
  };
  const named = (text: string): string =>
    text.replace(
      /\b(STEM|STATE|ROWS?|NEXT|TURN|SEND|MACRO|SENT|REFUSED|FAILED)(?=\b|_)/g,
      (word) => words[word] as string,
    );
  return [
    scheduleComment(content),
    '#include "signal_map_schedule.h"',
    '#include <string.h>',
    '',
    named(`typedef struct {
  uint32_t id;
  uint32_t first_us;
  uint32_t period_us; /* 0: not periodic */
  uint32_t burst_us;
  uint16_t burst_count;
  uint16_t bus;
  uint8_t extended;
  uint8_t fd;
  uint8_t length;
  uint8_t on_change;
  uint8_t begins; /* sent of itself at first_us */
} ROW;

static const ROW ROWS[MACRO_COUNT] = {`),
    ...frames.map(tableRow),
    '};',
    '',
    named(`enum { SENT, REFUSED, FAILED };

/* Encodes the live state of a frame and hands it over; where it is not taken its counters stay as they were. */
static int SEND(STEM *s, unsigned i, STEM_put put, void *user)
{
  const ROW *row = &ROWS[i];
  uint8_t data[64];
  memset(data, 0, sizeof data);
  switch (i) {`),
    ...frames.map((each) => sendCase(each, names)),
    `  default:
    return ${macro}_HAS_FAILED;
  }
}`,
    named(STEP).replace('INITS', frames.map((each) => `  ${each.stem}_init(&s->live.${each.member});`).join('\n')),
  ].join('\n');
}
