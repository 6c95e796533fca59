/** The schedule's header: struct, numbers of frames and buses, functions. */
import { commentText } from '../c/text.ts';
import { calledFrame } from './choice.ts';
import { sendsOnePage, type CScheduled, type ScheduleContent } from './schedule-content.ts';

const USE = [
  'One struct sm_schedule, of your own. sm_schedule_init starts its time at now_us and loads every frame with the payload recorded at rest. Call',
  'sm_schedule_step often (every millisecond, say) from one place with a free-running microsecond count, which may wrap: at least once in 35',
  'minutes. It hands each frame that is due to put, which returns 0 where it took the frame; else the same frame is tried again at the next step and',
  'its counter does not move on. After a late call each frame is sent once, not once for every turn that was missed, and keeps its place in time.',
  'To change a signal set it in live.FRAME; those that may move the machine and were not released by name keep their bits of the payload at rest,',
  'whatever is set. For frames sent on a change, then call sm_schedule_changed. sm_schedule_switch takes one frame off the bus, or back.',
  'sm_schedule_stop ends all sending until the next init, also from an interrupt or within put. Silence is an event',
  'too: the module will notice and react in its own way.',
];

function timeWords({ kind, periodUs, firstUs, burstCount }: CScheduled): string {
  const first = firstUs === null ? 'not of itself' : `first after ${firstUs / 1000} ms`;
  const every = periodUs > 0 ? `, every ${periodUs / 1000} ms` : '';
  const burst = burstCount > 1 ? `, ${burstCount} frames on a change` : '';
  return `${kind}, ${first}${every}${burst}`;
}

function frameWords(scheduled: CScheduled): string {
  const { frame, mayCommand } = scheduled;
  const commands = mayCommand.length > 0 ? `; MAY COMMAND by ${mayCommand.join(', ')}` : '';
  const page = sendsOnePage(frame) ? '; only the page recorded at rest' : '';
  return `${calledFrame(frame)}: ${timeWords(scheduled)}${page}${commands}`;
}

export function scheduleComment({ map, frames, leftOut, cautions }: ScheduleContent): string {
  const lines = [
    `${map.part.title || 'Signal map'}: sending schedule, made by ${map.made.by}. THIS CODE SENDS.`,
    ...cautions,
    `Sends ${frames.length}:`,
    ...frames.map((each) => `- ${frameWords(each)}`),
    ...(leftOut.length > 0 ? [`Leaves out ${leftOut.length}:`] : []),
    ...leftOut.map(({ name, why }) => `- ${name}: ${why}`),
  ];
  return `/* ${lines.map((line) => commentText(line, 400)).join('\n   ')}\n*/`;
}

export function scheduleHeader(content: ScheduleContent): string {
  const { names, frames, buses } = content;
  const { stem, macro } = names;
  return [
    scheduleComment(content),
    `#ifndef ${macro}_H`,
    `#define ${macro}_H`,
    '#include "signal_map.h"',
    '#ifdef __cplusplus',
    'extern "C" {',
    '#endif',
    '',
    ['/* How to use it.', ...USE.map((line) => line.replaceAll('sm_schedule', stem))].join('\n   ') + ' */',
    '',
    `#define ${macro}_COUNT ${frames.length}u`,
    ...frames.map((each, i) => `#define ${each.macro} ${i}u /* ${commentText(calledFrame(each.frame))} */`),
    `#define ${macro}_BUSES ${buses.length}u`,
    ...buses.map((bus, i) => `#define ${bus.macro} ${i}u /* ${commentText(bus.name)} */`),
    '',
    '/* Gives one frame to the bus: 0 where it was taken. bus is one of the numbers above. */',
    `typedef int (*${stem}_put)(void *user, unsigned bus, uint32_t id, int extended, int fd, const uint8_t *data,`,
    '    uint8_t length);',
    '',
    'typedef struct {',
    '  uint64_t due_us; /* of periodic frames, since init */',
    '  uint64_t extra_us; /* of those on a change or sent once, where left is not 0 */',
    '  uint32_t sent;',
    '  uint32_t missed; /* turns that a late call left out */',
    '  uint32_t refused; /* times that put took nothing */',
    '  uint32_t failed; /* times that encode refused: nothing was sent */',
    '  uint16_t left; /* frames still to send, of a burst or the only one */',
    '  uint8_t on;',
    `} ${stem}_state;`,
    '',
    'typedef struct {',
    '  uint64_t elapsed_us; /* since init */',
    '  uint32_t last_us;',
    '  volatile uint8_t running;',
    `  ${stem}_state frames[${macro}_COUNT];`,
    '  struct {',
    ...frames.map((each) => `    ${each.stem} ${each.member};`),
    '  } live;',
    `} ${stem};`,
    '',
    `void ${stem}_init(${stem} *s, uint32_t now_us);`,
    '/* Frames handed over. */',
    `int ${stem}_step(${stem} *s, uint32_t now_us, ${stem}_put put, void *user);`,
    `void ${stem}_switch(${stem} *s, unsigned frame, int on);`,
    '/* 0 where the frame is one that is sent on a change, and on. */',
    `int ${stem}_changed(${stem} *s, unsigned frame);`,
    `void ${stem}_stop(${stem} *s);`,
    '',
    '#ifdef __cplusplus',
    '}',
    '#endif',
    '#endif',
    '',
  ].join('\n');
}
