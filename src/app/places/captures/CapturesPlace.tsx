/** Captures, the picture side: lanes, load of each bus, and the survey as threads. */
import { useMemo, type ReactNode } from 'react';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { useCaptures } from '../../stores/captures.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { ModesRow } from '../../modes/ModesRow.tsx';
import { ComparisonView } from '../../comparison/ComparisonView.tsx';
import { useComparisonChoice } from '../../comparison/store.ts';
import { pickAndTake, stopAll, toggleComparison } from './actions.ts';
import './captures.css';
import { FirstVisit } from './FirstVisit.tsx';
import { Lanes } from './Lanes.tsx';
import { LoadRows } from './LoadRows.tsx';
import { Threads } from './Threads.tsx';
import { Trim } from './Trim.tsx';

export function CapturesPlace(): ReactNode {
  const any = useDossier(({ dossier }) => dossier.captures.length > 0);
  const group = useMemo<KeyGroup>(
    () => ({
      title: 'Captures',
      bindings: [
        { key: 'a', says: 'add files', run: () => void pickAndTake(null) },
        { key: 'c', says: 'compare two captures, or go back', run: toggleComparison },
        { key: 'Escape', says: 'stop reading', run: stopAll },
      ],
    }),
    [],
  );
  useKeys(group);
  return any ? <Sheet /> : <FirstVisit />;
}

function Sheet(): ReactNode {
  const current = useCurrentCapture();
  const phase = current?.open.phase;
  const drawn = phase === 'ready' || phase === 'reading';
  const compared = useComparisonChoice((state) => state.shown);
  return (
    <>
      <div className="captures">
        <Row label={<span className="tiny dimmer">captures</span>}>
          <span className="tiny dimmer">each on its own clock, from its first frame</span>
        </Row>
        <Lanes />
      </div>
      {compared && <ComparisonView />}
      {drawn && !compared && (
        <TimeSheet className="pictures">
          {phase === 'ready' && <ModesRow />}
          <LoadRows />
          <Threads />
          {phase === 'ready' && <Trim />}
        </TimeSheet>
      )}
    </>
  );
}

export function CapturesControls(): ReactNode {
  const reading = useCaptures(({ open }) => open.some(({ phase }) => phase === 'reading'));
  const any = useDossier(({ dossier }) => dossier.captures.length > 0);
  const compared = useComparisonChoice((state) => state.shown);
  return (
    <>
      {any && (
        <button type="button" className="button" aria-pressed={compared} onClick={toggleComparison}>
          {compared ? 'Show one' : 'Compare two'} <kbd>C</kbd>
        </button>
      )}
      <button type="button" className="button" onClick={() => void pickAndTake(null)}>
        Add files <kbd>A</kbd>
      </button>
      {reading && (
        <button type="button" className="button" onClick={stopAll}>
          Stop reading <kbd>Esc</kbd>
        </button>
      )}
    </>
  );
}
