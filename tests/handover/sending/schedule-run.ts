/**
 * Compiles a schedule and runs it over simulated time: a script of instants comes in, every frame handed over comes out. The compilers' strictest
 * warnings are errors, and the run itself is under address and undefined-behaviour checks.
 */
import { generateC, type COptions } from '../../../src/handover/c/source.ts';
import type { PlannedFrame } from '../../../src/handover/needs/types.ts';
import { releasedKeys } from '../../../src/handover/sending/choice.ts';
import { scheduleC, scheduleContent, type Schedule } from '../../../src/handover/sending/schedule.ts';
import type { MapFrame, SignalMap } from '../../../src/map/schema.ts';
import { aFrame } from '../../support/map-parts.ts';
import { hasCompiler, STRICT, workplace, type Workplace } from '../../support/compile-c.ts';

/** A frame that another module sends, at rest when a person said so. */
export function needed(part: Partial<MapFrame> = {}): MapFrame {
  const frame = aFrame({ role: 'needed-by-part', ...part });
  return frame.rest ? { ...frame, rest: { marked: 'at rest', ...frame.rest } } : frame;
}

export const seen = (midMs: number) => ({ midMs, lowMs: midMs, highMs: midMs, n: 3 });

export function scheduleOf(
  map: SignalMap,
  plan: readonly PlannedFrame[],
  release: readonly string[] = map.frames.map(({ name }) => name),
  prefix = 'sm',
): Schedule {
  const released = releasedKeys(map, release);
  if (!released.ok) throw new Error(released.problems[0].message);
  const code = generateC(map, { prefix, cautions: [] });
  const content = scheduleContent(map, plan, { released: released.value, prefix, code });
  return scheduleC({ ...content, cautions: ['Read me.'] });
}

/** What the driver does at each instant, before or instead of a step. */
export type Order =
  | { readonly step: number }
  | { readonly switch: number; readonly on: boolean }
  | { readonly changed: number }
  | { readonly refuse: boolean }
  | { readonly stop: true };

export interface Sent {
  readonly atUs: number;
  readonly bus: number;
  readonly id: number;
  readonly extended: boolean;
  readonly fd: boolean;
  readonly data: string;
}

const driver = ({ names: { stem } }: Schedule): string => `#include "signal_map_schedule.h"
#include <stdio.h>
static uint32_t now;
static int refuses;
static int put(void *user, unsigned bus, uint32_t id, int extended, int fd, const uint8_t *data, uint8_t length)
{
  unsigned i;
  if (user != (void *)&now) return 2;
  if (refuses) return 1;
  printf("%lu %u %lu %d %d ", (unsigned long)now, bus, (unsigned long)id, extended, fd);
  for (i = 0u; i < length; i++) printf("%02X", data[i]);
  printf(".\\n");
  return 0;
}
int main(void)
{
  static ${stem} s;
  char what;
  unsigned long a;
  unsigned long b;
  if (scanf(" %lu", &a) != 1) return 1;
  now = (uint32_t)a;
  ${stem}_init(&s, now);
  while (scanf(" %c %lu %lu", &what, &a, &b) == 3) {
    if (what == 's') { now = (uint32_t)a; (void)${stem}_step(&s, now, put, &now); }
    if (what == 'w') ${stem}_switch(&s, (unsigned)a, b != 0u);
    if (what == 'c') printf("# %d\\n", ${stem}_changed(&s, (unsigned)a));
    if (what == 'r') refuses = a != 0u;
    if (what == 'x') ${stem}_stop(&s);
  }
  for (a = 0u; a < sizeof s.frames / sizeof s.frames[0]; a++)
    printf("= %lu %lu %lu %lu\\n", (unsigned long)s.frames[a].sent, (unsigned long)s.frames[a].missed,
           (unsigned long)s.frames[a].refused, (unsigned long)s.frames[a].failed);
  return 0;
}
`;

function word(order: Order): string {
  if ('step' in order) return `s ${order.step >>> 0} 0`;
  if ('switch' in order) return `w ${order.switch} ${order.on ? 1 : 0}`;
  if ('changed' in order) return `c ${order.changed} 0`;
  if ('refuse' in order) return `r ${order.refuse ? 1 : 0} 0`;
  return 'x 0 0';
}

export interface Ran {
  readonly sent: readonly Sent[];
  readonly changed: readonly number[];
  readonly counts: readonly { sent: number; missed: number; refused: number; failed: number }[];
}

/** @param choices how the encoder below is made */
export function compiled(
  map: SignalMap,
  schedule: Schedule,
  prefix = 'sm',
  choices: Partial<COptions> = {},
): Workplace {
  const code = generateC(map, { prefix, ...choices, cautions: [] });
  const place = workplace();
  place.write('signal_map.h', code.header);
  place.write('signal_map.c', code.source);
  for (const { name, text } of schedule.files) place.write(name, text);
  place.write('driver.c', driver(schedule));
  for (const compiler of ['gcc', 'clang'].filter(hasCompiler))
    place.compile(compiler, ['-std=c99', ...STRICT, '-O1', '-c', 'signal_map_schedule.c', '-o', 'plain.o']);
  for (const compiler of ['g++', 'clang++'].filter(hasCompiler))
    place.compile(compiler, ['-x', 'c++', '-std=c++17', ...STRICT, '-c', 'signal_map_schedule.c', '-o', 'plus.o']);
  const checks = ['-fsanitize=address,undefined', '-fno-sanitize-recover=all', '-g'];
  place.compile('gcc', ['-std=c99', ...checks, 'signal_map.c', 'signal_map_schedule.c', 'driver.c', '-o', 'driver']);
  return place;
}

export function run(place: Workplace, startUs: number, orders: readonly Order[]): Ran {
  const script = [String(startUs >>> 0), ...orders.map(word)].join('\n');
  const lines = place.run('driver', new TextEncoder().encode(script)).trim().split('\n');
  const sent = lines
    .filter((line) => /^\d/.test(line))
    .map((line): Sent => {
      const [atUs, bus, id, extended, fd, data = ''] = line.split(' ');
      const since = (Number(atUs) - (startUs >>> 0)) >>> 0;
      return {
        atUs: since,
        bus: Number(bus),
        id: Number(id),
        extended: extended === '1',
        fd: fd === '1',
        data: data.slice(0, -1),
      };
    });
  const changed = lines.filter((line) => line.startsWith('# ')).map((line) => Number(line.slice(2)));
  const counts = lines
    .filter((line) => line.startsWith('= '))
    .map((line) => {
      const [a = 0, b = 0, c = 0, d = 0] = line.slice(2).split(' ').map(Number);
      return { sent: a, missed: b, refused: c, failed: d };
    });
  return { sent, changed, counts };
}
