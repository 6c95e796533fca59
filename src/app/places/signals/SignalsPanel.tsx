/** The panel of Signals: what the held one is, its fit, why it is trusted so far, and changes to it. */
import type { ReactNode } from 'react';
import { displayId } from '../../../kit/units.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { kindWords } from '../../pictures/bands-words.ts';
import { ChecksPart } from './ChecksPart.tsx';
import { FitPart, OtherCandidates } from './FitPart.tsx';
import { useFitState } from './fit-state.ts';
import { useHeldSignal, useSignalRows, type SignalRow } from './held-signal.ts';
import { NamingPart } from './NamingPart.tsx';
import { evidenceWords, heldAgainstWords, standingWords } from './naming.ts';
import { NoValue } from './NoValue.tsx';
import { RolePart } from './RolePart.tsx';
import { SignalEditor } from './SignalEditor.tsx';
import { StandingGlyph, StandingLegend } from './Standing.tsx';

export function SignalsPanel(): ReactNode {
  const rows = useSignalRows();
  const held = useHeldSignal(rows);
  const state = useFitState(held);
  if (!held) return <StandingLegend />;
  const { signal } = held;
  return (
    <div className="signals-panel">
      <section>
        <h2 className={`figure ${signal.standing === 'guess' ? 'inferred' : ''}`}>{signal.name}</h2>
        <p className="dim small">
          <span className="mono">{displayId(held.stream.id, held.stream.extended)}</span> {placeWords(signal)}:{' '}
          {kindWords(signal)}
          {signal.role !== 'unknown' ? `; ${signal.role}` : ''}
        </p>
        {signal.kind === 'number' && (
          <p className="small">
            physical = {fixedScale(signal.scale)} × raw
            {signal.offset ? ` ${signal.offset < 0 ? '−' : '+'} ${fixedScale(Math.abs(signal.offset))}` : ''}{' '}
            {signal.unit}
          </p>
        )}
        <NoValue row={held} />
        {signal.notes && <p className="small">{signal.notes}</p>}
      </section>
      {signal.kind === 'number' && <FitPart row={held} state={state} />}
      <NamingPart row={held} />
      <RolePart row={held} />
      <ChecksPart row={held} />
      <Evidence row={held} />
      <SignalEditor key={held.key} row={held} />
      <StandingLegend />
      <OtherCandidates state={state} />
    </div>
  );
}

const fixedScale = (value: number): string => Number(value.toPrecision(6)).toString().replace('-', '−');

function Evidence({ row }: { row: SignalRow }): ReactNode {
  const { signal } = row;
  return (
    <section className="panel-part">
      <h3>
        <StandingGlyph standing={signal.standing} /> Why it is{' '}
        <span className={signal.standing === 'guess' ? 'inferred' : 'strong'}>{signal.standing}</span>
        {signal.standing === 'supported' ? ', not yet proven' : ''}
      </h3>
      {signal.evidence.length > 0 && (
        <table className="list">
          <tbody>
            {signal.evidence.map((evidence, index) => {
              const { what, figure } = evidenceWords(evidence);
              return (
                <tr key={index}>
                  <td>{what}</td>
                  <td className="right">{figure}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      )}
      {heldAgainstWords(signal).map((words) => (
        <p key={words} className="small">
          {words}
        </p>
      ))}
      <p className="small inferred dim">{standingWords(signal)}</p>
    </section>
  );
}
