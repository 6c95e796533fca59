/** What jobs share that need many identifiers at once: one part, on the streams that the findings speak of. */
import type { FrameFindings } from '../../fields/types.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';

/** Streams that have findings; the others cannot answer a question about fields. */
export function streamsOf(findings: readonly FrameFindings[], table: FrameTable): readonly Stream[] {
  const named = new Set(
    findings.map(({ bus, id, extended, direction }) => `${bus} ${parseInt(id, 16)} ${extended} ${direction}`),
  );
  return table.streams.filter((s) => named.has(`${s.bus} ${s.id} ${s.extended} ${s.direction}`));
}

export function onlyAnswer<Answer>(answers: readonly Answer[]): Answer {
  return answers[0] as Answer;
}
