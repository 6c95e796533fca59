/** Nothing open yet: axes in place, one sentence, one button for files, and one for the demo dossier. */
import { useState, type ReactNode } from 'react';
import { openDemo } from '../../demo/open-demo.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { pickAndTake } from './actions.ts';

const ROWS = ['captures', 'load', 'survey'];

export function FirstVisit(): ReactNode {
  const [state, setState] = useState<{ readonly words: string; readonly busy: boolean }>({ words: '', busy: false });
  const demo = async (): Promise<void> => {
    setState({ words: 'driving the demo vehicle', busy: true });
    const problem = await openDemo((words) => setState({ words, busy: true }));
    setState({ words: problem ?? '', busy: false });
  };
  return (
    <TimeSheet className="first-visit">
      <Row label={<span className="tiny dimmer">{ROWS[0]}</span>}>
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
      <EmptyRow name={ROWS[1] as string} height={72} />
      <EmptyRow name={ROWS[2] as string} height={180} />
    </TimeSheet>
  );
}

function EmptyRow({ name, height }: { name: string; height: number }): ReactNode {
  return (
    <Row className="empty-row" label={<span className="tiny dimmer">{name}</span>}>
      <div className="empty-axis" style={{ height }} />
    </Row>
  );
}
