/** The figures of one strand, in two columns; in each operating state where they differ. */
import { useMemo, type ReactNode } from 'react';
import { residualAgainst } from '../../../timing/senders/drift-picture.ts';
import { stampStepOf } from '../../pictures/drift-curves.ts';
import type { Strand } from '../../pictures/loom-model.ts';
import { useClocks } from '../../stores/asking.ts';
import { fixed, period, signed } from '../../words/format.ts';
import { useGroupLetters, type HeldLoom } from './held.ts';
import { atWords, framesWords, jitterWords, missedWords, periodWords, skewWords } from './strand-words.ts';

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
        <Fact name="jitter" value={jitterWords(strand.jitterMs)} />
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
      <ByMode strand={strand} />
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

type Timing = Pick<Strand['frame']['timing'], 'kind' | 'periodMs'>;
const PERIOD_SAME = 0.02;
const isSameTiming = (a: Timing, b: Timing): boolean =>
  a.kind === b.kind &&
  (a.periodMs === b.periodMs || Math.abs((a.periodMs ?? 0) / (b.periodMs ?? Infinity) - 1) < PERIOD_SAME);

/** Its timing in each operating state that was told apart; nothing where it is the same all the while. */
function ByMode({ strand }: { strand: Strand }): ReactNode {
  const modes = Object.entries(strand.frame.timing.byMode ?? {});
  if (modes.length === 0) return null;
  if (modes.every(([, timing]) => isSameTiming(timing, strand.frame.timing)))
    return (
      <p className="tiny dim senders-modes">
        The same in all {modes.length} modes: {modes.map(([mode]) => mode).join(', ')}.
      </p>
    );
  return (
    <table className="list senders-modes">
      <thead>
        <tr>
          <th>mode</th>
          <th className="right">period</th>
          <th className="right">jitter</th>
        </tr>
      </thead>
      <tbody>
        {modes.map(([mode, timing]) => (
          <tr key={mode}>
            <td>{mode}</td>
            <td className="right">{period(timing.periodMs)}</td>
            <td className="right">{timing.jitterMs === null ? '' : jitterWords(timing.jitterMs)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
