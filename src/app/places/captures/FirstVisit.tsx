/** Nothing open yet: one sentence, one button for files, one for the demo dossier, and the job step by step. */
import { useState, type ReactNode } from 'react';
import { openDemo } from '../../demo/open-demo.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { pickAndTake } from './actions.ts';
import { WalkRows } from './Walk.tsx';

export function FirstVisit(): ReactNode {
  const [state, setState] = useState<{ readonly words: string; readonly busy: boolean }>({ words: '', busy: false });
  const demo = async (): Promise<void> => {
    setState({ words: 'driving the demo vehicle', busy: true });
    const problem = await openDemo((words) => setState({ words, busy: true }));
    setState({ words: problem ?? '', busy: false });
  };
  return (
    <TimeSheet className="first-visit">
      <Row label={<span className="tiny dimmer">captures</span>}>
        <div className="need">
          <p className="lead">
            Drop a recording of the bus anywhere on this window: log lines, screen lines, CSV, pcap, also
            gzip-compressed.
          </p>
          <p className="line-of">
            <button type="button" className="button go" onClick={() => void pickAndTake(null)}>
              Choose files <kbd>A</kbd>
            </button>
            <button type="button" className="button" disabled={state.busy} onClick={() => void demo()}>
              Open the demo dossier
            </button>
          </p>
          <p className="small dim" role="status">
            {state.words ||
              'The demo is an invented post van: two drives, one recording with a module unplugged, marks and meter readings. Nothing you open leaves this machine.'}
          </p>
        </div>
      </Row>
      <Row className="walk-head" label={<span className="tiny dimmer">place</span>}>
        <span className="tiny dimmer">the job, in seven steps</span>
      </Row>
      <WalkRows />
    </TimeSheet>
  );
}
