/** Marks, the words: the mark and the action that are held, and the run card. */
import { useState, type ReactNode } from 'react';
import { useRulerMarks, type RulerMarks } from '../../stores/asking.ts';
import { addAction } from '../../stores/marks-edits.ts';
import { useView } from '../../stores/view.ts';
import { ActionEditor } from './ActionEditor.tsx';
import { exportFile, importFile } from './commands.ts';
import { MarkEditor } from './MarkEditor.tsx';
import { RunCard } from './run/RunCard.tsx';
import { StepWords } from './story/StepWords.tsx';
import { UntoldPart } from './UntoldPart.tsx';
import { useMarksPlace } from './store.ts';

export function MarksPanel(): ReactNode {
  const ruler = useRulerMarks();
  const { mark: key, action } = useView((view) => view.selection);
  const runCard = useMarksPlace((state) => state.runCard);
  const mark = ruler.marks.find((other) => other.key === key);
  if (runCard !== 'off') return <RunCard />;
  return (
    <>
      <StepWords />
      {mark && <MarkEditor key={mark.key} mark={mark} ruler={ruler} />}
      {action !== null && ruler.actions.includes(action) && <ActionEditor key={action} action={action} ruler={ruler} />}
      <UntoldPart ruler={ruler} />
      <NewAction />
      <section className="wide-only">
        <h3>Run card</h3>
        <p className="small dim">
          A list of actions to perform in the vehicle: cues in large words, a count-down, one key a step. It writes the
          marks itself, also on a phone and with no capture loaded.
        </p>
        <p style={{ marginTop: 8 }}>
          <button type="button" className="button" onClick={() => useMarksPlace.getState().setRunCard('plan')}>
            Open the run card <kbd>C</kbd>
          </button>
        </p>
      </section>
      <section className="narrow-only">
        <h3>Marks as a file</h3>
        <p className="line-of" style={{ marginTop: 6 }}>
          <button type="button" className="button" onClick={() => void importFile()}>
            Import
          </button>
          <button type="button" className="button" onClick={exportFile}>
            Export
          </button>
        </p>
      </section>
      <MarksTable ruler={ruler} />
    </>
  );
}

function NewAction(): ReactNode {
  const [name, setName] = useState('');
  const add = (): void => {
    const action = name.trim();
    if (!action) return;
    addAction(action);
    useView.getState().select({ action, mark: null });
    setName('');
  };
  return (
    <section>
      <h3>New action</h3>
      <div className="line-of" style={{ marginTop: 6, flexWrap: 'nowrap' }}>
        <input
          id="new-action"
          className="field"
          style={{ flex: 1 }}
          aria-label="Name of the new action"
          placeholder="brake pressed"
          value={name}
          onChange={(event) => setName(event.target.value)}
          onKeyDown={(event) => event.key === 'Enter' && add()}
        />
        <button type="button" className="button" disabled={!name.trim()} onClick={add}>
          Add
        </button>
      </div>
    </section>
  );
}

/** All marks as a table, for those who cannot see the tracks. */
function MarksTable({ ruler }: { ruler: RulerMarks }): ReactNode {
  if (!ruler.marks.length) return null;
  return (
    <table className="unseen">
      <caption>All marks, in seconds of the ruler</caption>
      <thead>
        <tr>
          <th>action</th>
          <th>start</th>
          <th>end</th>
          <th>value</th>
          <th>note</th>
        </tr>
      </thead>
      <tbody>
        {ruler.marks.map((mark) => (
          <tr key={mark.key}>
            <td>{mark.action}</td>
            <td>{mark.startS.toFixed(2)}</td>
            <td>{mark.endS?.toFixed(2) ?? ''}</td>
            <td>{mark.value}</td>
            <td>{mark.note}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
