/** The figures of one strand, in two columns; in each operating state where they differ. */
import { useMemo, type ReactNode } from 'react';
import { residualAgainst } from '../../../timing/senders/drift-picture.ts';
import { stampStepOf } from '../../pictures/drift-curves.ts';
import type { Strand } from '../../../timing/loom/model.ts';
import { useClocks } from '../../stores/asking.ts';
import { ByMode } from '../../modes/ByMode.tsx';
import { fixed, jitter, signed } from '../../../kit/sheet-figures.ts';
import { useGroupLetters, type HeldLoom } from './held.ts';
import { atWords, framesWords, missedWords, periodWords, skewWords } from './strand-words.ts';

export function StrandFacts({ strand, held }: { strand: Strand; held: HeldLoom }): ReactNode {
  const clocks = useClocks().value;
  const groupOf = useGroupLetters(held.survey);
  const { frame, group } = strand;
  const stepUs = held.survey ? stampStepOf(held.survey.capture.clock) : 0;
  const away = useMemo(
    () =>
      clocks && group && frame.direction === 'received' ? residualAgainst(clocks, groupOf, frame, group, stepUs) : null,
    [clocks, groupOf, frame, group, stepUs],
  );
  const skew = held.survey?.groups.find((one) => one.group === group)?.skewPpm ?? null;
  const own = frame.skew ? `${skewWords(frame.skew.lowerHull.ppm)} by the logger` : 'does not show';
  return (
    <>
      <dl className="senders-facts">
        <Fact name="period" value={strand.periodMs === null ? strand.timingWords : periodWords(strand.periodMs)} />
        <Fact name="jitter" value={jitter(strand.jitterMs)} />
        <Fact name="skew" value={skew === null ? own : skewWords(skew)} />
        <Fact
          name="from group"
          value={
            away?.drift
              ? `${signed(away.drift.ppm, 1)} ± ${fixed(2 * away.drift.se, 1)} ppm`
              : group
                ? 'not told'
                : 'none'
          }
        />
        <Fact name="first seen" value={atWords(frame.firstS)} />
        <Fact name="last seen" value={atWords(frame.lastS)} />
        <Fact name="frames" value={framesWords(strand)} />
        <Fact name="missed" value={missedWords(strand)} />
      </dl>
      <ByMode timing={frame.timing} />
    </>
  );
}

function Fact({ name, value }: { name: string; value: string }): ReactNode {
  return (
    <div>
      <dt>{name}</dt>
      <dd>{value}</dd>
    </div>
  );
}
