/**
 * The map as C99 (and C++17): a header and a source, without allocation and without libraries beyond the freestanding ones and
 * `string.h`. One struct a frame; `init` loads the payload recorded at rest, `decode` fills the struct, `encode` lays
 * signals over the payload and refuses what was never observed; a receiver judges what arrives.
 */
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import type { LeftOut } from '../encode-choice.ts';
import type { CContext, COptions } from './context.ts';
import { crcTables } from './crc-tables.ts';
import { decodeSource, initSource, restArray } from './frame-decode.ts';
import { encodeSource } from './frame-encode.ts';
import { filterNames, filterText } from './filter-tables.ts';
import { frameHeader } from './frame-header.ts';
import { receiveHeader, receptionSource } from './frame-receive.ts';
import { HELPER_NAMES, helperSource, type Helper } from './helpers.ts';
import { NameSpace, safeIdentifier } from './names.ts';
import { frameMacros, frameNames, planFrame, type CFrame } from './plan.ts';
import { busesOf, planReceiver } from './receiver.ts';
import { commentText } from './text.ts';
import { sharedHeader, SHARED_MACROS, SHARED_NAMES } from './words.ts';

export type { COptions } from './context.ts';

export interface CCode {
  readonly header: string;
  readonly source: string;
  readonly leftOut: readonly LeftOut[];
  /** C stem of each frame of the map and its member of the receiver, in the map's order. */
  readonly frames: readonly {
    readonly frame: MapFrame;
    readonly stem: string;
    readonly member: string;
    readonly encodes: boolean;
  }[];
}

function contextOf(options: COptions, used: Set<Helper>): CContext {
  const prefix = safeIdentifier(options.prefix ?? 'sm').toLowerCase();
  return {
    prefix,
    macro: prefix.toUpperCase(),
    ranges: options.ranges ?? 'observed',
    scaling: options.scaling ?? 'float',
    tables: options.crc === 'table' ? crcTables(prefix) : null,
    use: (helper) => {
      used.add(helper);
      return `${prefix}_${helper}`;
    },
  };
}

/** Every frame with names of its own. */
function planFrames(map: SignalMap, context: CContext, release: readonly string[]): CFrame[] {
  const { prefix, macro } = context;
  const shared = SHARED_MACROS.map((name) => `${macro}_${name}`);
  const places = busesOf(map, macro);
  const buses = [...places.map((bus) => bus.macro), ...filterNames(places, prefix)];
  const own = [...SHARED_NAMES, ...HELPER_NAMES].map((name) => `${prefix}_${name}`);
  const statics = new NameSpace([...shared, ...buses, ...own]);
  const formsOf = (name: string): string[] => frameNames(`${prefix}_${name}`);
  const stems = map.frames.map(({ name, id }) => `${prefix}_${statics.claim(name.toLowerCase() || id, formsOf)}`);
  const macros = new NameSpace([...shared, ...buses, ...stems.flatMap(frameMacros)]);
  const names = { macros, statics, released: new Set(release) };
  return map.frames.map((frame, i) => planFrame(frame, stems[i] as string, context, names));
}

function frameSource(c: CFrame, context: CContext): string {
  return [
    `/* ---- ${commentText(c.frame.name)} ---- */`,
    ...restArray(c),
    ...c.checksums.flatMap(({ source }) => source ?? []),
    ...decodeSource(c, context),
    ...initSource(c),
    ...encodeSource(c, context),
    ...receptionSource(c, context),
  ].join('\n');
}

function headerText(map: SignalMap, context: CContext, cautions: readonly string[], parts: readonly string[]): string {
  const guard = `${context.macro}_SIGNAL_MAP_H`;
  const scaling = context.scaling === 'float' ? 'double' : 'whole numbers, counts of a stated unit; no floating point';
  return [
    `/* ${commentText(map.part.title) || 'Signal map'}: decoder, encoder and receiver, made by ${commentText(map.made.by)}.`,
    `   Physical values: ${scaling}.`,
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
    ...parts,
    '#ifdef __cplusplus',
    '}',
    '#endif',
    '#endif',
    '',
  ].join('\n');
}

export function generateC(map: SignalMap, options: COptions): CCode {
  const used = new Set<Helper>();
  const context = contextOf(options, used);
  const plans = planFrames(map, context, options.release ?? []);
  const buses = busesOf(map, context.macro);
  const receiver = planReceiver(buses, plans, context);
  const filters = filterText(map, buses, context, options.filters ?? null);
  const bodies = plans.map((plan) => frameSource(plan, context)).join('\n');
  const source = [
    `/* ${commentText(map.part.title) || 'Signal map'}: generated from the map; change the map, not this file. */`,
    '#include "signal_map.h"',
    '#include <string.h>',
    '',
    helperSource(used, context.prefix),
    context.tables?.source() ?? '',
    bodies,
    receiver.source,
    filters.source,
  ].join('\n');
  const frameParts = plans.map((plan) => frameHeader(plan, context) + receiveHeader(plan, context));
  return {
    header: headerText(map, context, options.cautions, [
      sharedHeader(context),
      ...frameParts,
      receiver.header,
      filters.header,
    ]),
    source,
    leftOut: plans.flatMap((plan) => plan.leftOut),
    frames: plans.map((plan, i) => ({
      frame: plan.frame,
      stem: plan.stem,
      member: receiver.members[i] as string,
      encodes: plan.notSent === null,
    })),
  };
}
