/**
 * The bench record: what was measured before anything was sent, and every trial with what its recording showed. Plain JSON, version 1, kept in the
 * dossier or as a file of its own. Answers and trials are only ever added: a later answer stands above an earlier one of the same item, and both stay.
 * Unknown keys are kept at every level.
 */
import { z } from 'zod';
import { CHECK_NAMES } from './checklist-items.ts';
import { planFactsSchema } from './plan-facts.ts';

/** As `frameKey` of the map gives it: "can0/0x1F4", "can0/0x18FF10F4x". */
const keySchema = z.string().min(1);

const measurementSchema = z.looseObject({
  item: z.enum(CHECK_NAMES),
  verdict: z.enum(['ok', 'not-ok', 'not-applicable']),
  /** As entered; null where there is none. */
  value: z.number().nullable(),
  unit: z.string(),
  /** Why it does not apply, or what is to be said of it. */
  note: z.string(),
  by: z.string(),
  /** ISO 8601. */
  at: z.string(),
});

const candidateSchema = z.looseObject({
  key: keySchema,
  name: z.string(),
  group: z.string().nullable(),
  likelihood: z.number().gt(0).lt(1),
});

const heldBackSchema = z.looseObject({ name: z.string(), why: z.string() });

/** A signal that a trial sent with another value than its frame's rest payload has. */
const givenValueSchema = z.looseObject({ frame: keySchema, signal: z.string(), value: z.number() });

const fieldReadingSchema = z.looseObject({
  frame: keySchema,
  signal: z.string(),
  role: z.string(),
  /** Raw value that it showed last; null where it showed none at the end of the trial. */
  raw: z.number().nullable(),
  /** Share of the frames at the end that have that value. */
  share: z.number(),
  /** Raw values seen in the whole trial. */
  seen: z.array(z.number()),
  /** Seconds from power-up to the first frame of the last unbroken run of that value. */
  sinceS: z.number().nullable(),
  /** The instant of the last frame before with another value, seconds from power-up; null without one. */
  beforeS: z.number().nullable(),
});

const observationSchema = z.looseObject({
  /** From the first frame of the recording to the last; of a trial that sends nothing, as planned at least: a part that sleeps ends the recording. */
  watchedS: z.number(),
  /** Frames of the part heard in all, and at the end of the trial. */
  own: z.array(
    z.looseObject({
      key: keySchema,
      frames: z.number(),
      atEnd: z.number(),
      expectedAtEnd: z.number().nullable(),
      lastS: z.number(),
    }),
  ),
  fields: z.array(fieldReadingSchema),
  sent: z.array(
    z.looseObject({
      key: keySchema,
      frames: z.number(),
      expected: z.number().nullable(),
      lastS: z.number().nullable(),
      /** What is wrong with it, for a person; empty where nothing is. */
      trouble: z.string(),
    }),
  ),
  /** Candidates on the bus that the trial does not send. */
  strangers: z.array(keySchema),
  /** A number of the part that was watched beside: the middle and the tenth from either end of its values at the end of the trial. */
  followed: z
    .looseObject({
      frame: keySchema,
      signal: z.string(),
      middle: z.number(),
      low: z.number(),
      high: z.number(),
      n: z.number().int(),
    })
    .nullable()
    .default(null),
  /** Fault codes that failed when they were last asked for. */
  codes: z.array(z.looseObject({ code: z.string(), lost: z.boolean() })),
});

const trialSchema = z.looseObject({
  number: z.number().int().min(1),
  kind: z.enum(['set', 'stop', 'vary']),
  aim: z.string(),
  sent: z.array(keySchema),
  /** Kind "stop": the frame that falls silent, seconds after power-up. */
  stopped: z.looseObject({ key: keySchema, atS: z.number() }).nullable().default(null),
  values: z.array(givenValueSchema).default([]),
  sleepS: z.number(),
  settleS: z.number(),
  at: z.string(),
  capture: z
    .looseObject({
      title: z.string(),
      files: z.array(z.looseObject({ name: z.string(), bytes: z.number(), sha256: z.string() })),
    })
    .nullable(),
  observed: observationSchema.nullable(),
  /** By hand: what a person saw; wins over what the recording shows. */
  seen: z
    .looseObject({ verdict: z.enum(['asleep', 'awake-with-fault', 'operational', 'unclear']), note: z.string() })
    .nullable()
    .default(null),
  /** Whether anything moved or clicked that should not have; null where nobody said. */
  moved: z.boolean().nullable().default(null),
  /** Why a person does not let it count; empty where it does. */
  setAside: z.string().default(''),
});

export const benchRecordSchema = z.looseObject({
  format: z.literal('loomscribe.bench'),
  version: z.literal(1),
  part: z.string(),
  candidates: z.array(candidateSchema),
  heldBack: z.array(heldBackSchema),
  /** Names of frames that a person released for sending. */
  released: z.array(z.string()),
  settings: z.looseObject({ sleepS: z.number().positive(), settleS: z.number().positive() }),
  /** What captures told of each frame's times when the record was begun: every trial repeats them. Null: the map alone is known. */
  plan: planFactsSchema.nullable().default(null),
  /** What state and fault fields showed in the vehicle, at rest and ready. */
  vehicle: z
    .looseObject({
      title: z.string(),
      fields: z.array(z.looseObject({ frame: keySchema, signal: z.string(), healthy: z.array(z.number()) })),
      own: z.array(keySchema),
    })
    .nullable(),
  checklist: z.array(measurementSchema),
  /** Somebody is sure of the wiring though everything sent does not make the part work: then a frame may disturb it. */
  wiringSure: z.array(z.looseObject({ by: z.string(), at: z.string(), note: z.string() })).default([]),
  trials: z.array(trialSchema),
});

export type BenchRecord = z.infer<typeof benchRecordSchema>;
export type BenchTrial = z.infer<typeof trialSchema>;
export type BenchCandidate = z.infer<typeof candidateSchema>;
export type Measurement = z.infer<typeof measurementSchema>;
export type TrialObservation = z.infer<typeof observationSchema>;
export type FieldReading = z.infer<typeof fieldReadingSchema>;
