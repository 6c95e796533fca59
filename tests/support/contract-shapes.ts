/**
 * The shapes that other programs rely on, written a second time from the contract's tables, as schemas that demand every
 * key named there and leave others free.
 */
import { z } from 'zod';

const hex = z.string().regex(/^0x[0-9A-F]+$/);
const key = { bus: z.string(), id: hex, extended: z.boolean() };
const place = {
  lsb: z.object({ byte: z.number().int(), bit: z.number().int().min(0).max(7) }),
  length: z.number().int().min(1),
  order: z.enum(['little', 'big']),
};
const when = z.record(z.string(), z.array(z.number())).nullable();
const timing = z.looseObject({
  kind: z.enum(['periodic', 'on-change', 'mixed', 'reply', 'once']),
  periodMs: z.number().nullable(),
  jitterMs: z.number().nullable(),
});

export const surveyShape = z.looseObject({
  capture: z.looseObject({
    frames: z.number().int(),
    rejected: z.number().int(),
    originS: z.string(),
    startS: z.number(),
    durationS: z.number(),
    clock: z.unknown(),
  }),
  buses: z.array(
    z.looseObject({ name: z.string(), frames: z.number().int(), load: z.number().min(0).max(1).nullable() }),
  ),
  frames: z.array(
    z.looseObject({ ...key, count: z.number().int(), length: z.number().int(), timing, group: z.string().nullable() }),
  ),
  groups: z.array(z.looseObject({ group: z.string(), ids: z.array(z.string()), skewPpm: z.number().nullable() })),
});

export const linkShape = z.looseObject({
  clockOffsetS: z.number(),
  actions: z.array(
    z.looseObject({
      action: z.string(),
      links: z.array(
        z.looseObject({
          ...key,
          ...place,
          when,
          effect: z.number(),
          effectSd: z.number(),
          lagS: z.number(),
          p: z.number().min(0).max(1),
          q: z.number().min(0).max(1),
          direction: z.enum(['onset', 'release', 'level']),
        }),
      ),
    }),
  ),
});

export const fitShape = z.looseObject({
  clockOffsetS: z.number(),
  quantities: z.array(
    z.looseObject({
      name: z.string(),
      unit: z.string(),
      fits: z.array(
        z.looseObject({
          ...key,
          ...place,
          coding: z.string(),
          when,
          scale: z.number(),
          scaleSe: z.number(),
          offset: z.number(),
          offsetSe: z.number(),
          simpleScale: z.number().nullable(),
          lagS: z.number(),
          r2: z.number(),
          n: z.number().int(),
        }),
      ),
    }),
  ),
});

export const proveShape = z.looseObject({
  frames: z.array(
    z.looseObject({
      ...key,
      verdict: z.enum(['holds', 'fails', 'not-exercised']),
      items: z.array(
        z.looseObject({
          item: z.enum(['presence', 'length', 'timing', 'counter', 'checksum', 'selector', 'signal']),
          name: z.string(),
          verdict: z.enum(['holds', 'fails', 'not-exercised']),
          rate: z.number().nullable(),
          n: z.number().int(),
          detail: z.unknown(),
        }),
      ),
    }),
  ),
});

export const compareShape = z.looseObject({
  onlyInA: z.array(z.looseObject(key)),
  onlyInB: z.array(z.looseObject(key)),
  timingChanged: z.array(z.looseObject({ ...key, periodMsA: z.number().nullable(), periodMsB: z.number().nullable() })),
  payloadChanged: z.array(z.looseObject({ ...key, bytes: z.array(z.number().int()), how: z.string() })),
});
