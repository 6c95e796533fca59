/** The part that the held signal plays, as the analysis infers it, with its reasons; taken only by the person's hand. */
import type { ReactNode } from 'react';
import { useMeaning } from '../../stores/asking-meaning.ts';
import { sentence } from '../../words/sentence.ts';
import { FindingState } from '../payloads/RespondersPanel.tsx';
import type { SignalRow } from './held-signal.ts';
import { roleOf, sureWords } from './meaning-of.ts';
import { edit } from './SignalEditor.tsx';

export const useRole = (row: SignalRow | null): ReturnType<typeof roleOf> => {
  const report = useMeaning(row !== null).value;
  return row ? roleOf(report, { ...row.frame, ...row.signal }) : null;
};

export function takeRole(row: SignalRow, role: ReturnType<typeof roleOf>): void {
  if (role) edit(row, `role of ${row.signal.name}`, (signal) => ({ ...signal, role: role.role }));
}

export function RolePart({ row }: { row: SignalRow }): ReactNode {
  const meaning = useMeaning(true);
  const found = useRole(row);
  const { role } = row.signal;
  if (!meaning.value && !meaning.slot) return null;
  const isTaken = found?.role === role;
  return (
    <section className="panel-part">
      <h3>
        What part it plays <small>{role === 'unknown' ? 'not said yet' : `${role}, by your word`}</small>
      </h3>
      <FindingState finding={meaning} />
      {meaning.value && !found && (
        <p className="small dim inferred">Nothing in this recording tells whether it commands, reports or limits.</p>
      )}
      {found && (
        <>
          <p>
            <i className="role-found">{found.role}</i> <span className="small dim">{sureWords(found.confidence)}</span>
          </p>
          <p className="small dim inferred">{sentence(found.why)}</p>
          {!isTaken && (
            <p style={{ marginTop: 8 }}>
              <button type="button" className="button" onClick={() => takeRole(row, found)}>
                Take it as {found.role} <kbd>R</kbd>
              </button>
            </p>
          )}
        </>
      )}
    </section>
  );
}
