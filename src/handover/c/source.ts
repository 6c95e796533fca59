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
import { filterText } from './filter-tables.ts';
import { frameHeader } from './frame-header.ts';
import { receiveHeader, receptionSource } from './frame-receive.ts';
import { helperSource, type Helper } from './helpers.ts';
import { safeIdentifier } from './names.ts';
import { nameAll } from './naming.ts';
import { planFrame, type CFrame } from './plan.ts';
import { planReceiver } from './receiver.ts';
import { sequenceText } from './sequences.ts';
import { commentText } from './text.ts';
import { sharedHeader } from './words.ts';

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
  const { buses, stems, sequences, names } = nameAll(map, context, options.release ?? []);
  const plans = map.frames.map((frame, i) => planFrame(frame, stems[i] as string, context, names));
  const receiver = planReceiver(buses, plans, context);
  const heard = plans.map((plan, i) => ({ plan, member: receiver.members[i] as string }));
  const bodies = plans.map((plan) => frameSource(plan, context)).join('\n');
  const parts = [
    receiver,
    sequenceText(map, sequences, heard, context),
    filterText(map, buses, context, options.filters ?? null),
  ];
  const source = [
    `/* ${commentText(map.part.title) || 'Signal map'}: generated from the map; change the map, not this file. */`,
    '#include "signal_map.h"',
    '#include <string.h>',
    '',
    helperSource(used, context.prefix),
    context.tables?.source() ?? '',
    bodies,
    ...parts.map((part) => part.source),
  ].join('\n');
  const frameParts = plans.map((plan) => frameHeader(plan, context) + receiveHeader(plan, context));
  const headerParts = [sharedHeader(context), ...frameParts, ...parts.map((part) => part.header)];
  return {
    header: headerText(map, context, options.cautions, headerParts),
    source,
    leftOut: plans.flatMap((plan) => plan.leftOut),
    frames: heard.map(({ plan, member }) => ({
      frame: plan.frame,
      stem: plan.stem,
      member,
      encodes: plan.notSent === null,
    })),
  };
}
