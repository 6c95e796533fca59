/**
 * What captures told the keep-alive plan of each frame: period, phase, when it comes after a waking, and who misses it. Kept in the bench record, so that
 * every trial repeats the same times; read from the plan that a handover wrote.
 */
import { z } from 'zod';
import type { Outcome } from '../../kit/outcome.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { KeepAlivePlan, NeedReason, PlannedFrame } from '../needs/types.ts';
import { readVersioned } from './versioned.ts';

const REASON_KINDS = ['bench', 'absence', 'lost-communication-code', 'order', 'network', 'by-hand'] as const;

const reasonSchema = z.looseObject({
  kind: z.enum(REASON_KINDS),
  capture: z.string().optional(),
  speaksFor: z.enum(['needed', 'not-needed']),
  words: z.string(),
});

const seenSchema = z.looseObject({
  midMs: z.number(),
  lowMs: z.number(),
  highMs: z.number(),
  n: z.number().int().min(1),
});

const toldSchema = z.looseObject({
  periodMs: z.number().positive().nullable(),
  phaseMs: z.number().min(0).nullable(),
  phaseWhy: z.string().default(''),
  firstAfterWakeMs: seenSchema.nullable(),
  order: z.number().int().min(1).nullable(),
  reasons: z.array(reasonSchema),
});

/** As the record keeps it. Unknown keys are kept at every level. */
export const planFactsSchema = z.looseObject({
  captures: z.array(z.string()),
  frames: z.array(toldSchema.extend({ key: z.string().min(1) })),
});

export type PlanFacts = z.infer<typeof planFactsSchema>;
type Told = PlanFacts['frames'][number];

const canonical = (facts: PlanFacts | null): string =>
  facts === null ? '' : JSON.stringify(planFactsSchema.parse(facts));

/** Whatever the order of their keys. */
export const sameFacts = (a: PlanFacts | null, b: PlanFacts | null): boolean => canonical(a) === canonical(b);

const withCapture = ({ kind, speaksFor, words, capture }: z.infer<typeof reasonSchema>): NeedReason => ({
  ...{ kind, speaksFor, words },
  ...(capture === undefined ? {} : { capture }),
});

/** Null where no capture told anything: the map alone says the rest again. */
export function planFacts({ captures, frames }: KeepAlivePlan): PlanFacts | null {
  if (captures.length === 0) return null;
  return {
    captures: [...captures],
    frames: frames.map(({ frame, periodMs, phaseMs, phaseWhy, firstAfterWakeMs, order, reasons }) => ({
      key: frameKey(frame),
      ...{ periodMs, phaseMs, phaseWhy, order },
      firstAfterWakeMs: firstAfterWakeMs && { ...firstAfterWakeMs },
      reasons: reasons.map((reason) => ({ ...reason })),
    })),
  };
}

function toldFrame(planned: PlannedFrame, told: Told): PlannedFrame {
  const { periodMs, phaseMs, phaseWhy, firstAfterWakeMs, order } = told;
  const reasons = told.reasons.map(withCapture);
  // The map may have learnt more since, such as what the bench showed.
  const since = planned.reasons.filter(({ words }) => !reasons.some((each) => each.words === words));
  return { ...planned, periodMs, phaseMs, phaseWhy, firstAfterWakeMs, order, reasons: [...reasons, ...since] };
}

/** The plan of the map with what captures told of its frames; the plan itself where nothing is kept. */
export function withFacts(plan: KeepAlivePlan, facts: PlanFacts | null): KeepAlivePlan {
  if (facts === null) return plan;
  const byKey = new Map(facts.frames.map((told) => [told.key, told]));
  const frames = plan.frames.map((planned) => {
    const told = byKey.get(frameKey(planned.frame));
    return told ? toldFrame(planned, told) : planned;
  });
  return { ...plan, frames, captures: facts.captures };
}

const writtenSchema = z.looseObject({
  format: z.literal('loomscribe.keep-alive'),
  version: z.literal(1),
  captures: z.array(z.string()),
  frames: z.array(
    toldSchema.extend({ bus: z.string(), id: z.string().regex(/^0x[0-9A-Fa-f]{1,8}$/), extended: z.boolean() }),
  ),
});

const WRITTEN = { format: 'loomscribe.keep-alive', version: 1, schema: writtenSchema, called: 'keep-alive plan' };

/** `name` is told in problems. */
export function parsePlanFacts(text: string, name: string): Outcome<PlanFacts> {
  const read = readVersioned(text, name, WRITTEN);
  if (!read.ok) return read;
  const frames = read.value.frames.map((frame): Told => {
    const { periodMs, phaseMs, phaseWhy, firstAfterWakeMs, order, reasons } = frame;
    return { key: frameKey(frame), periodMs, phaseMs, phaseWhy, firstAfterWakeMs, order, reasons };
  });
  return { ...read, value: { captures: read.value.captures, frames } };
}
