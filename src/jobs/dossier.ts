/**
 * The dossier: what the person decided about one donor part, and nothing that can be computed again.
 * Plain JSON, versioned; the page saves it by itself, the command line takes it with --dossier.
 */
import { z } from 'zod';
import { benchRecordSchema } from '../handover/bench/record-schema.ts';
import {
  bitAddressSchema,
  checksumSchema,
  codingSchema,
  counterSchema,
  orderSchema,
  signalSchema,
} from '../map/schema.ts';

const placement = z.looseObject({
  lsb: bitAddressSchema,
  length: z.number().int().min(1),
  order: orderSchema,
  continues: z
    .array(z.looseObject({ lsb: bitAddressSchema, length: z.number().int().min(1), order: orderSchema }))
    .optional(),
});
const frameKey = { bus: z.string(), id: z.string(), extended: z.boolean() };

const dossierMarkSchema = z.looseObject({
  /** Stable within the dossier, for selection and undo. */
  key: z.string(),
  action: z.string(),
  startS: z.number(),
  endS: z.number().nullable(),
  value: z.string().optional(),
  note: z.string().optional(),
});

const dossierCaptureSchema = z.looseObject({
  id: z.string(),
  title: z.string(),
  /** "main", "second drive", "inverter unplugged": words for people. */
  role: z.string(),
  files: z.array(
    z.looseObject({ name: z.string(), bytes: z.number(), sha256: z.string(), bus: z.string().optional() }),
  ),
  columns: z.record(z.string(), z.string()).default({}),
  zone: z.string().optional(),
  trim: z.looseObject({ fromS: z.number(), toS: z.number() }).nullable().default(null),
  /** Marks made on this capture; seconds on the marks' clock. */
  marks: z.array(dossierMarkSchema).default([]),
  markTimeBase: z.enum(['epoch', 'capture']).default('capture'),
  /** Capture time = mark time + offset; "auto" until set by hand. */
  markOffset: z.union([z.literal('auto'), z.number()]).default('auto'),
  /** Capture time = time of the reference files + offset; left out until set by hand. */
  referenceOffset: z.number().optional(),
  references: z
    .array(
      z.looseObject({
        name: z.string(),
        unit: z.string(),
        timeBase: z.enum(['epoch', 'capture']),
        timeS: z.array(z.number()),
        value: z.array(z.number()),
        /** "typed" readings are made at the cursor, on the capture's own clock. */
        from: z.enum(['file', 'typed']),
      }),
    )
    .default([]),
});

export const dossierSchema = z.looseObject({
  format: z.literal('loomscribe.dossier'),
  version: z.literal(1),
  part: z.looseObject({ title: z.string(), donor: z.string(), destination: z.string(), notes: z.string() }),
  captures: z.array(dossierCaptureSchema),
  rates: z.record(z.string(), z.looseObject({ bitrate: z.number(), dataBitrate: z.number().nullable() })),
  /** Actions in the order of their tracks, with or without marks. */
  actions: z.array(z.string()),
  /** Fields placed or refused by hand, and rules of guards set by hand. */
  decisions: z.array(
    z.looseObject({
      ...frameKey,
      kind: z.enum(['field', 'refused', 'rule']),
      placement,
      /** How the person reads it; one that this program does not know leaves the choice to the finders. */
      coding: codingSchema.optional().catch(undefined),
      /** With kind "rule", one of the two: the rule set, in the map's shape. */
      counter: counterSchema.optional(),
      checksum: checksumSchema.optional(),
    }),
  ),
  /** Named signals, each in its frame. */
  signals: z.array(z.looseObject({ ...frameKey, signal: signalSchema })),
  frameNames: z.array(z.looseObject({ ...frameKey, name: z.string() })),
  /**
   * Senders by letter, with the name that a person gave ("" until then) and the identifiers by which a group is
   * recognised in any capture. A letter once given stays taken.
   */
  senders: z
    .array(z.looseObject({ group: z.string().min(1), name: z.string(), members: z.array(z.looseObject(frameKey)) }))
    .default([]),
  /** Identifiers put into a group by hand; null: into none. */
  senderMoves: z.array(z.looseObject({ ...frameKey, group: z.string().min(1).nullable() })).default([]),
  /** What was measured and tried on the bench; left out until it is begun. */
  bench: benchRecordSchema.optional(),
  /** Letters of the senders that are the donor part itself: what they send the controller hears, and never sends. */
  partSenders: z.array(z.string().min(1)).default([]),
});

export type Dossier = z.infer<typeof dossierSchema>;
export type DossierCapture = z.infer<typeof dossierCaptureSchema>;
export type DossierMark = z.infer<typeof dossierMarkSchema>;

export const emptyDossier = (): Dossier => ({
  format: 'loomscribe.dossier',
  version: 1,
  part: { title: '', donor: '', destination: '', notes: '' },
  captures: [],
  rates: {},
  actions: [],
  decisions: [],
  signals: [],
  frameNames: [],
  senders: [],
  senderMoves: [],
  partSenders: [],
});
