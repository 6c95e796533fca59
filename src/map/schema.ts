/**
 * The signal map as other programs rely on it: plain JSON, version 1. Unknown keys are kept at every level, so that a map
 * written by a newer program survives a round trip. The types below are inferred from the schema:
 * there is no second definition of the map in the project.
 */
import { z } from 'zod';

z.config({ jitless: true });

const hex = z.string().regex(/^0x[0-9A-F]+$/, 'write "0x" and upper-case hex digits');
const byteIndex = z.number().int().min(0).max(63);

export const bitAddressSchema = z.looseObject({ byte: byteIndex, bit: z.number().int().min(0).max(7) });
export const orderSchema = z.enum(['little', 'big']);
const pieceShape = { lsb: bitAddressSchema, length: z.number().int().min(1).max(512), order: orderSchema };
const pieceSchema = z.looseObject(pieceShape);
const placementShape = { ...pieceShape, continues: z.array(pieceSchema).optional() };

/** null, or selector name -> raw values; all selectors named must hold. */
const whenSchema = z.record(z.string(), z.array(z.number().int())).nullable();
const confidence = z.number().min(0).max(1);

const evidenceSchema = z.looseObject({
  kind: z.enum(['link', 'fit', 'states', 'cross-check', 'guard', 'proof', 'bench', 'by-hand']),
  capture: z.string().optional(),
});

export const counterSchema = z.looseObject({
  name: z.string(),
  ...placementShape,
  step: z.number().int(),
  every: z.number().int().min(1),
  min: z.number().int(),
  max: z.number().int(),
  when: whenSchema,
  confidence,
});

const checksumMethodSchema = z.enum(['xor', 'sum', 'crc', 'copy', 'mac', 'unsolved']);
const coveredSchema = z.union([byteIndex, z.looseObject({ byte: byteIndex, mask: z.union([hex, z.number().int()]) })]);

export const checksumSchema = z.looseObject({
  ...placementShape,
  method: checksumMethodSchema,
  width: z.number().int().min(1).max(64).optional(),
  poly: hex.optional(),
  init: hex.optional(),
  refin: z.boolean().optional(),
  refout: z.boolean().optional(),
  xorout: hex.optional(),
  unit: z.enum(['byte', 'nibble', 'word16le', 'word16be']).optional(),
  carry: z.enum(['drop', 'end-around']).optional(),
  covers: z.array(coveredSchema).optional(),
  prefix: z.array(hex).optional(),
  suffix: z.array(hex).optional(),
  prefixByCounter: z.array(z.array(hex)).optional(),
  suffixByCounter: z.array(z.array(hex)).optional(),
  when: whenSchema,
  undetermined: z.array(bitAddressSchema),
  confidence,
});

const selectorSchema = z.looseObject({
  name: z.string(),
  ...placementShape,
  when: whenSchema.optional(),
  confidence,
});

export const codingSchema = z.enum(['unsigned', 'signed', 'sign-magnitude', 'float', 'bcd', 'text']);
const signalKindSchema = z.enum(['number', 'states', 'flag', 'text']);
const signalRoleSchema = z.enum(['command', 'feedback', 'limit', 'enable', 'fault', 'state', 'echo', 'unknown']);
const standingSchema = z.enum(['guess', 'supported', 'proven']);

/** A raw value in decimal, or a hex string where it is beyond 2^53. */
const rawValueSchema = z.union([z.number().int(), hex]);
const rangeSchema = z.looseObject({ min: z.number(), max: z.number() }).nullable();

export const signalSchema = z.looseObject({
  name: z.string().min(1),
  ...placementShape,
  coding: codingSchema,
  kind: signalKindSchema,
  role: signalRoleSchema,
  when: whenSchema,
  scale: z.number(),
  offset: z.number(),
  unit: z.string(),
  observed: rangeSchema,
  /** Bits that never moved and may belong to the value as well, next to its most and its least significant bit. */
  mayExtend: z.looseObject({ above: z.number().int().min(0), below: z.number().int().min(0) }).optional(),
  allowed: rangeSchema,
  invalid: z.array(z.looseObject({ from: rawValueSchema, to: rawValueSchema, meaning: z.string() })),
  /** Unsigned raw value in decimal -> its name. */
  states: z.record(z.string(), z.string()),
  table: z.array(z.tuple([z.number(), z.number()])).nullable(),
  standing: standingSchema,
  sending: z.enum(['untested', 'proven']),
  confidence,
  evidence: z.array(evidenceSchema),
  notes: z.string(),
});

const unclaimedSchema = z.looseObject({
  ...placementShape,
  reason: z.enum(['constant', 'filling', 'noise', 'cipher', 'idle']),
  value: rawValueSchema.optional(),
});

const timingKindSchema = z.enum(['periodic', 'on-change', 'mixed', 'reply', 'once']);
const timingShape = {
  kind: timingKindSchema,
  periodMs: z.number().nullable(),
  jitterMs: z.number().nullable(),
  replyTo: hex.optional(),
  delayMs: z.number().optional(),
  burst: z.looseObject({ count: z.number().int(), periodMs: z.number() }).optional(),
  timeoutMs: z.number().optional(),
  timeoutFrom: z.enum(['bench', 'guess']).optional(),
};
const plainTimingSchema = z.looseObject(timingShape);
const timingSchema = z.looseObject({
  ...timingShape,
  byMode: z.record(z.string(), plainTimingSchema).optional(),
});

export const frameSchema = z.looseObject({
  bus: z.string(),
  id: hex,
  extended: z.boolean(),
  length: z.number().int().min(0).max(64),
  fd: z.boolean(),
  name: z.string(),
  role: z.enum(['sent-by-part', 'needed-by-part', 'other', 'unknown']),
  sender: z.looseObject({ group: z.string(), name: z.string(), confidence }).nullable(),
  timing: timingSchema,
  rest: z
    .looseObject({
      payload: z.string().regex(/^([0-9A-F]{2}( [0-9A-F]{2})*)?$/, 'write bytes as two upper-case hex digits, spaced'),
      capture: z.string(),
      fromS: z.number(),
      toS: z.number(),
    })
    .nullable(),
  need: z.looseObject({
    verdict: z.enum(['required', 'not-required', 'untested']),
    how: z.enum(['', 'bench', 'absence', 'lost-communication-code']),
    evidence: z.array(evidenceSchema).optional(),
  }),
  counters: z.array(counterSchema),
  checksums: z.array(checksumSchema),
  selectors: z.array(selectorSchema),
  signals: z.array(signalSchema),
  unclaimed: z.array(unclaimedSchema),
});

/** A sender that begins or falls silent behind an event: no signal changes. */
const presenceSchema = z.looseObject({
  bus: z.string(),
  id: hex,
  what: z.enum(['begins', 'falls-silent']),
  group: z.string().nullable(),
  delayMs: z.tuple([z.number(), z.number()]),
  seen: z.number().int(),
});

const sequenceSchema = z.looseObject({
  name: z.string(),
  event: z.string(),
  n: z.number().int(),
  steps: z.array(
    z.looseObject({
      bus: z.string(),
      id: hex,
      signal: z.string(),
      from: rawValueSchema,
      to: rawValueSchema,
      group: z.string().nullable(),
      delayMs: z.tuple([z.number(), z.number()]),
      seen: z.number().int(),
    }),
  ),
  presence: z.array(presenceSchema).optional(),
});

/** Features without which a value would be decoded wrongly. */
export const FEATURES = ['when', 'continues', 'table', 'checksum-when'] as const;
export type Feature = (typeof FEATURES)[number];

export const signalMapSchema = z.looseObject({
  format: z.literal('loomscribe.signal-map'),
  version: z.literal(1),
  requires: z.array(z.string()),
  part: z.looseObject({ title: z.string(), donor: z.string(), notes: z.string() }),
  made: z.looseObject({ by: z.string(), at: z.string() }),
  captures: z.array(
    z.looseObject({
      id: z.string(),
      title: z.string(),
      files: z.array(z.looseObject({ name: z.string(), bytes: z.number().int().min(0), sha256: z.string() })),
    }),
  ),
  buses: z.array(
    z.looseObject({ name: z.string(), bitrate: z.number().nullable(), dataBitrate: z.number().nullable() }),
  ),
  frames: z.array(frameSchema),
  sequences: z.array(sequenceSchema),
});

export type SignalMap = z.infer<typeof signalMapSchema>;
export type MapFrame = z.infer<typeof frameSchema>;
export type MapSignal = z.infer<typeof signalSchema>;
export type MapCounter = z.infer<typeof counterSchema>;
export type MapChecksum = z.infer<typeof checksumSchema>;
export type MapSelector = z.infer<typeof selectorSchema>;
export type MapUnclaimed = z.infer<typeof unclaimedSchema>;
export type MapPresence = z.infer<typeof presenceSchema>;
export type MapTiming = z.infer<typeof timingSchema>;
export type Evidence = z.infer<typeof evidenceSchema>;
export type When = z.infer<typeof whenSchema>;
export type Standing = z.infer<typeof standingSchema>;
export type SignalRole = z.infer<typeof signalRoleSchema>;
export type SignalKind = z.infer<typeof signalKindSchema>;
