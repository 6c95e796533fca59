/** The readings of a reference on the capture's clock, and whether that clock is known. */
import type { FrameTable } from '../../../frames/table.ts';
import type { Control } from '../../../kit/control.ts';
import { independentPairs } from '../../../kit/statistics/autocorrelation.ts';
import { roughReference } from '../../../reference/clock.ts';
import { fitFields } from '../../../reference/fit.ts';
import { quantityOf } from '../../../reference/setting.ts';
import type { ReferenceClock, ReferenceFile, ReferenceSeries } from '../../../reference/types.ts';
import * as limit from '../thresholds.ts';
import { findingsOf, type HeldSignal } from '../held-signal.ts';
import { spokenOf } from './spoken-of.ts';

export interface GivenReference {
  readonly file: ReferenceFile;
  /** Capture time = reference time + offset. */
  readonly offset: 'auto' | number;
}

export interface Readings {
  /** Stamps in seconds from the capture's first frame. */
  readonly series: readonly ReferenceSeries[];
  /** Standard error of the clock, seconds. */
  readonly seS: number;
  /** False where nothing says how the two clocks lie to each other: dense readings then say nothing. */
  readonly isKnown: boolean;
  /** Capture time = reference time + this. */
  readonly offsetS: number;
  readonly words: string;
}

/** Clocks given by hand are good to about so much: common practice, no source. */
const GIVEN_SE_S = 0.1;

/** Only quantities that come and go within the recording tell an offset. */
function tellsClock(series: ReferenceSeries): boolean {
  const { dense, whyNot, thin } = quantityOf(series);
  return dense && whyNot === null && independentPairs(thin.value, thin.value) >= limit.INDEPENDENT_FOR_CLOCK;
}

const isFound = (clock: ReferenceClock | undefined): boolean => {
  const { curve, chance } = clock ?? { curve: null, chance: null };
  return curve !== null && chance !== null && Math.max(...curve.agreement) >= chance;
};

/** The readings moved onto the capture's clock by the signals that they speak of. */
export async function readingsOf(
  { file, offset }: GivenReference,
  table: FrameTable,
  signals: readonly HeldSignal[],
  seed: number,
  control: Control,
): Promise<Readings> {
  const rough = roughReference(file, table.origin, table.endUs / 1e6);
  const at = (offsetS: number, seS: number, isKnown: boolean, words: string): Readings => {
    const byS = offsetS - rough.addedS;
    const series = rough.series.map((one) => ({ ...one, timeS: one.timeS.map((timeS) => timeS + byS) }));
    return { series, seS, isKnown, offsetS, words };
  };
  if (offset !== 'auto') return at(offset, GIVEN_SE_S, true, 'as given');
  const telling = file.series.filter((_, index) => tellsClock(rough.series[index] as ReferenceSeries));
  const spoken = signals.filter((held) => telling.some((series) => spokenOf(series, held) !== null));
  const asTheyAre = 'the clock of the readings could not be found in this capture: give the offset by hand';
  if (telling.length === 0 || spoken.length === 0) return at(rough.addedS, GIVEN_SE_S, false, asTheyAre);
  const report = await fitFields(
    { table, findings: findingsOf(spoken), reference: { ...file, series: telling }, offset, seed },
    control,
  );
  const { clock } = report;
  if (!isFound(clock)) return at(rough.addedS, GIVEN_SE_S, false, asTheyAre);
  return at(report.clockOffsetS, clock?.seS ?? GIVEN_SE_S, true, report.clockWords ?? '');
}
