/**
 * The map as C99 (and C++17): a header and a source, without allocation and without libraries beyond the freestanding ones and
 * `string.h`. One struct a frame; `init` loads the payload recorded at rest, `decode` fills the struct, `encode` lays
 * signals over the payload and refuses what was never observed.
 */
import type { RangeChoice } from '../../map/limits.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { frameHeader, frameMacros, frameSource, planFrame, type CFrame } from './frame.ts';
import { HELPER_NAMES, helperSource, type Helper } from './helpers.ts';
import { NameSpace, safeIdentifier } from './names.ts';
import type { CContext } from './signals.ts';
import { commentText } from './text.ts';
import type { LeftOut } from '../encode-choice.ts';

export interface CCode {
  readonly header: string;
  readonly source: string;
  readonly leftOut: readonly LeftOut[];
  /** C stem of each frame of the map, in the map's order. */
  readonly frames: readonly { readonly frame: MapFrame; readonly stem: string; readonly encodes: boolean }[];
}

export interface COptions {
  /** Before every name; default "sm". */
  readonly prefix?: string;
  /** "frame.signal": commands that a person released into the encoder. */
  readonly release?: readonly string[];
  /** What the encoder keeps to; default `observed`. */
  readonly ranges?: RangeChoice;
  /** Lines of cautions for the top of the header. */
  readonly cautions: readonly string[];
}

const STATUS = [
  ['OK', 'done'],
  ['UNDETERMINED', 'done, but the recordings do not show how the checksum depends on bits that were changed'],
  ['SHORT', 'the payload is shorter than the frame'],
  ['CHECKSUM', 'decoded, but a checksum does not agree'],
  ['RANGE', 'a value is outside its range: nothing was written; see failed'],
  ['MEANS_INVALID', 'a value would read as no value: nothing was written; see failed'],
  ['COUNTER', 'a counter is outside its range: nothing was written'],
] as const;

function statusEnum({ prefix, macro }: CContext): string {
  const lines = STATUS.map(
    ([name, what], i) => `  ${macro}_${name} = ${i}${i + 1 < STATUS.length ? ',' : ''} /* ${what} */`,
  );
  return ['typedef enum {', ...lines, `} ${prefix}_status;`].join('\n');
}

function headerText(map: SignalMap, plans: readonly CFrame[], context: CContext, cautions: readonly string[]): string {
  const guard = `${context.macro}_SIGNAL_MAP_H`;
  return [
    `/* ${commentText(map.part.title) || 'Signal map'}: decoder and encoder, made by ${commentText(map.made.by)}.`,
    '   First version: no timeouts, no receive filters, counters are stepped but not judged on reception.',
    ...cautions.map((line) => `   ${commentText(line, 400)}`),
    '*/',
    `#ifndef ${guard}`,
    `#define ${guard}`,
    '#include <stddef.h>',
    '#include <stdint.h>',
    '#ifdef __cplusplus',
    'extern "C" {',
    '#endif',
    '',
    statusEnum(context),
    '',
    '/* What the _valid member of a signal says. */',
    `#define ${context.macro}_ABSENT 0u /* not on the page that is on */`,
    `#define ${context.macro}_VALID 1u`,
    `#define ${context.macro}_INVALID 2u /* the frame says that there is no value */`,
    '',
    plans.map((plan) => frameHeader(plan, context)).join('\n'),
    '#ifdef __cplusplus',
    '}',
    '#endif',
    '#endif',
    '',
  ].join('\n');
}

/** All identifiers that come with a frame's stem. */
const formsOf =
  (prefix: string) =>
  (name: string): string[] => {
    const stem = `${prefix}_${name}`;
    return [
      stem,
      ...['init', 'decode', 'encode', 'rest'].map((verb) => `${stem}_${verb}`),
      stem.toUpperCase(),
      ...frameMacros(stem),
    ];
  };

export function generateC(map: SignalMap, options: COptions): CCode {
  const prefix = safeIdentifier(options.prefix ?? 'sm').toLowerCase();
  const used = new Set<Helper>();
  const context: CContext = {
    prefix,
    macro: prefix.toUpperCase(),
    ranges: options.ranges ?? 'observed',
    use: (helper) => {
      used.add(helper);
      return `${prefix}_${helper}`;
    },
  };
  const own = [...STATUS.map(([name]) => name), 'ABSENT', 'VALID', 'INVALID'].map((name) => `${context.macro}_${name}`);
  const helpers = HELPER_NAMES.map((name) => `${prefix}_${name}`);
  const statics = new NameSpace([...own, ...helpers, `${prefix}_status`]);
  const stems = map.frames.map(
    (frame) => `${prefix}_${statics.claim(frame.name.toLowerCase() || frame.id, formsOf(prefix))}`,
  );
  const macros = new NameSpace([...own, `${context.macro}_SIGNAL_MAP_H`, ...stems.flatMap(frameMacros)]);
  const shared = { macros, statics, released: new Set(options.release ?? []) };
  const plans = map.frames.map((frame, i) => planFrame(frame, stems[i] as string, context, shared));
  const bodies = plans.map((plan) => frameSource(plan, context)).join('\n');
  const source = [
    `/* ${commentText(map.part.title) || 'Signal map'}: generated from the map; change the map, not this file. */`,
    '#include "signal_map.h"',
    '#include <string.h>',
    '',
    helperSource(used, prefix),
    bodies,
  ].join('\n');
  return {
    header: headerText(map, plans, context, options.cautions),
    source,
    leftOut: plans.flatMap((plan) => plan.leftOut),
    frames: plans.map((plan) => ({ frame: plan.frame, stem: plan.stem, encodes: plan.notSent === null })),
  };
}
