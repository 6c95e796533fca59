/**
 * The fields of a capture as a scan needs them: read from their frames and laid on the grid once, as every action and every pass over the
 * clock asks for them again. What there is no room for is made anew each time.
 */
import type { Candidate } from '../map/proposed-fields.ts';
import { viewField, type FieldView } from './field-view.ts';
import { layOnGrid, type Circle, type GriddedField } from './grid.ts';
import { answeringSeries, type AnsweringSeries } from './pace.ts';
import type { Cumulants } from './rate-function.ts';

/** Numbers kept at most, 8 bytes each. */
const NUMBERS_KEPT = 2 ** 24;

export interface Laid {
  readonly field: GriddedField;
  readonly view: FieldView;
}

interface Gridded {
  readonly field: GriddedField;
  /** Small, and costly to make: kept where responses, which are many, are not. */
  readonly cumulants: Map<string, Cumulants>;
}

export class LaidFields {
  private readonly seriesKnown = new Map<Candidate, AnsweringSeries>();
  private readonly gridsKnown = new Map<Candidate, Gridded>();
  private numbers = 0;

  constructor(private readonly circle: Circle) {}

  /** What the field answers with over time, frame by frame. */
  series(candidate: Candidate): AnsweringSeries {
    const known = this.seriesKnown.get(candidate);
    if (known) return known;
    const made = answeringSeries(candidate);
    if (this.hasRoomFor(2 * made.value.length)) this.seriesKnown.set(candidate, made);
    return made;
  }

  /** A field on the grid with its responses; null where it never moves. */
  of(candidate: Candidate): Laid | null {
    const { field, cumulants } = this.gridded(candidate);
    return field.greatest > field.least ? { field, view: viewField(field, this.circle, cumulants) } : null;
  }

  private gridded(candidate: Candidate): Gridded {
    const known = this.gridsKnown.get(candidate);
    if (known) return known;
    const made = { field: layOnGrid(this.series(candidate), this.circle), cumulants: new Map<string, Cumulants>() };
    if (this.hasRoomFor(1.125 * made.field.value.length)) this.gridsKnown.set(candidate, made);
    return made;
  }

  private hasRoomFor(numbers: number): boolean {
    if (this.numbers + numbers > NUMBERS_KEPT) return false;
    this.numbers += numbers;
    return true;
  }
}
