/** The fields that a link or a fit may be made for: every proposed number, state or flag of the frames received, with its frames. */
import type { Coding, Placement } from '../frames/bits.ts';
import { findStream, type FrameTable, type Stream } from '../frames/table.ts';
import { fieldSeries, type FieldSeries } from './field-series.ts';
import type { MapSelector, MapSignal, When } from './schema.ts';

/** What a finder of links or fits needs to know of a field; the finders' findings have it all. */
export interface ProposedField extends Placement {
  readonly name: string;
  readonly coding: Coding;
  readonly kind: MapSignal['kind'];
  readonly when: When;
  readonly invalid: MapSignal['invalid'];
}

/** What a finder of links or fits needs to know of an identifier. */
export interface ProposedFrame {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly direction: 'received' | 'sent';
  readonly selectors: readonly MapSelector[];
  readonly fields: readonly ProposedField[];
}

export interface Candidate {
  readonly frame: ProposedFrame;
  readonly field: ProposedField;
  readonly stream: Stream;
}

/** Frames that the logger itself sent answer to nothing the vehicle does, and text is not a quantity. */
export function candidatesOf(table: FrameTable, findings: readonly ProposedFrame[]): Candidate[] {
  return findings.flatMap((frame) => {
    const { bus, extended, direction } = frame;
    const stream =
      direction === 'received' ? findStream(table, { bus, id: Number(frame.id), extended, direction }) : undefined;
    if (!stream) return [];
    return frame.fields
      .filter(({ kind, coding }) => kind !== 'text' && coding !== 'text')
      .map((field) => ({ frame, field, stream }));
  });
}

export const seriesOf = ({ stream, field, frame }: Candidate): FieldSeries =>
  fieldSeries(stream, field, frame.selectors);

/** One text for each field of a capture. */
export const fieldKey = ({
  bus,
  id,
  extended,
  field,
}: Pick<ReturnType<typeof placeOfCandidate>, 'bus' | 'id' | 'extended' | 'field'>): string =>
  `${bus} ${id} ${extended} ${field}`;

/** Where a field stands, as links and fits say it. */
export function placeOfCandidate({ frame, field }: Candidate) {
  return {
    bus: frame.bus,
    id: frame.id,
    extended: frame.extended,
    field: field.name,
    lsb: { byte: field.lsb.byte, bit: field.lsb.bit },
    length: field.length,
    order: field.order,
    ...(field.continues ? { continues: field.continues } : {}),
    when: field.when,
  };
}
