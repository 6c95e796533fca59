/** What the open capture is: figures, title, role, and its files. */
import type { ReactNode } from 'react';
import type { Survey } from '../../../timing/types.ts';
import { pickFiles } from '../../shell/files.ts';
import type { CurrentCapture } from '../../stores/finding.ts';
import { addFiles, removeCapture, setRole, setTitle } from '../../stores/reading.ts';
import { count, duration, plural } from '../../../kit/sheet-figures.ts';

const ROLES = ['main', 'second drive', 'key on, not driven', 'a module unplugged', 'charging', 'on the bench'];

export function CapturePart({ current, survey }: { current: CurrentCapture; survey: Survey | null }): ReactNode {
  const { entry, open } = current;
  const { summary } = open;
  return (
    <section>
      {summary && (
        <>
          <p>
            <span className="figure">{count(summary.frames)} frames</span>{' '}
            <span className="dim">in {duration(summary.durationS)}</span>
          </p>
          <p className="dim small">
            {plural(summary.streams.length, 'identifier')} on {plural(summary.buses.length, 'bus', 'buses')}, read in{' '}
            {duration(open.lastsMs / 1000)}. {survey?.capture.clock.verdict}
          </p>
        </>
      )}
      {!open.kept && (
        <p className="small" role="alert">
          This browser has no room to keep the file: after a reload it has to be handed over again. What you decide is
          kept.
        </p>
      )}
      <div className="two-fields">
        <label className="labelled">
          Title
          <input className="field" value={entry.title} onChange={(event) => setTitle(entry.id, event.target.value)} />
        </label>
        <label className="labelled">
          Role
          <input
            className="field"
            list="capture-roles"
            value={entry.role}
            onChange={(event) => setRole(entry.id, event.target.value)}
          />
        </label>
        <datalist id="capture-roles">
          {ROLES.map((role) => (
            <option key={role} value={role} />
          ))}
        </datalist>
      </div>
      <p className="line-of" style={{ marginTop: 8 }}>
        <button type="button" className="button" onClick={() => void pickMore(entry.id)}>
          Add files to it
        </button>
        <button type="button" className="button" onClick={() => removeCapture(entry.id)}>
          Remove
        </button>
      </p>
    </section>
  );
}

async function pickMore(id: string): Promise<void> {
  const files = await pickFiles('', true);
  if (files.length)
    addFiles(
      id,
      files.map((file) => ({ name: file.name, blob: file })),
    );
}
