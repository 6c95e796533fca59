/**
 * What moves in a payload: counters first, then checksums, then selectors, then the values that remain. Pure: the
 * same stream and options give the same findings.
 */
import { formatId } from '../kit/units.ts';
import type { Control } from '../kit/control.ts';
import { checkpoint } from '../kit/control.ts';
import type { Stream } from '../frames/table.ts';
import { FD_FORMAT, streamName } from '../frames/table.ts';
import { measureBits } from './bit-statistics.ts';
import { disagreementsOf, withDisagreements } from './disagreement.ts';
import { dissect } from './dissect.ts';
import { UNBIASED, type OrderBits } from './divide.ts';
import { habitsOf, wantsAnotherLook } from './habits.ts';
import { withHandRules, withRuleDisagreements } from './hand-rules.ts';
import { rowsOfStream } from './payload-rows.ts';
import { withReservedCodes } from './reserved-codes.ts';
import { withRoom } from './room-beside.ts';
import { runInSteps, runThrough, type Steps } from './steps.ts';
import type { FieldOptions, FrameFindings } from './types.ts';
import { wakesOf } from './wakes.ts';

function* findWith(stream: Stream, options: FieldOptions, orderBits: OrderBits): Steps<FrameFindings> {
  const bits = measureBits(stream);
  yield stream.count * stream.stride;
  const { decisions = [], habits = [], watch } = options;
  const rows = rowsOfStream(stream);
  const asked = {
    id: stream.id,
    decisions,
    orderBits,
    habits: habits.find(({ bus }) => bus === stream.bus) ?? null,
    wakes: wakesOf(stream),
    ...(watch ? { watch } : {}),
  };
  const parts = withHandRules(yield* dissect(rows, asked), decisions, stream);
  const disagreements =
    decisions.length > 0
      ? yield* disagreementsOf({ rows, stream }, decisions, yield* dissect(rows, { ...asked, decisions: [] }))
      : null;
  return {
    bus: stream.bus,
    id: formatId(stream.id),
    extended: stream.extended,
    direction: stream.direction,
    length: stream.length,
    fd: stream.fdFlags?.some((flags) => (flags & FD_FORMAT) !== 0) ?? false,
    bits,
    ...withRuleDisagreements(parts, disagreements ?? []),
    fields: withReservedCodes(withDisagreements(withRoom(rows, parts), disagreements ?? []), stream, parts.selectors),
    ...(disagreements ? { disagreements } : {}),
  };
}

/** The findings of one identifier on its own. */
export function findFieldsOfStream(stream: Stream, options: FieldOptions): FrameFindings {
  return runThrough(findWith(stream, options, UNBIASED));
}

async function lookAt(
  streams: readonly Stream[],
  options: FieldOptions,
  control: Control,
): Promise<readonly FrameFindings[]> {
  const findings: FrameFindings[] = [];
  for (const [index, stream] of streams.entries()) {
    const [share, note] = [index / streams.length, `fields of ${streamName(stream)}`];
    await checkpoint(control, share, note);
    findings.push(await runInSteps(findWith(stream, options, UNBIASED), control, share, note));
  }
  return findings;
}

/**
 * The findings of all identifiers, in the order of the streams. Of several, those in doubt are looked at again with the habits of all; with
 * `options.habits` each is looked at once.
 */
export async function findFields(
  streams: readonly Stream[],
  options: FieldOptions,
  control: Control,
): Promise<readonly FrameFindings[]> {
  const findings = [...(await lookAt(streams, options, control))];
  if (!options.habits && streams.length > 1) {
    const habits = habitsOf(findings);
    const doubtful = streams.filter((_, index) => wantsAnotherLook(findings[index] as FrameFindings, habits));
    const again = await lookAt(doubtful, { ...options, habits }, control);
    again.forEach((each, index) => (findings[streams.indexOf(doubtful[index] as Stream)] = each));
  }
  await checkpoint(control, 1, 'fields found');
  return findings;
}
