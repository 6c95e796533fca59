/** Everything sent does not make the part work, and somebody went over the wiring again: then a frame may disturb it, and sets without some are tried. */
import { useState, type FormEvent, type ReactNode } from 'react';
import { withWiringSure } from '../../../../handover/bench/record.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import { keepBench } from './kept.ts';
import { useBenchView } from './store.ts';

export function WiringSure({ record }: { record: BenchRecord }): ReactNode {
  const [note, setNote] = useState('');
  const [problem, setProblem] = useState('');
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    const by = (useBenchView.getState().by ?? record.checklist.at(-1)?.by ?? '').trim();
    if (by === '' || note.trim() === '')
      return setProblem('Say who went over it, in the checklist, and what was seen.');
    const sure = { by, at: new Date().toISOString(), note: note.trim() };
    keepBench('be sure of the wiring', withWiringSure(record, sure));
  };
  return (
    <form className="line-of bench-own" onSubmit={submit}>
      <label className="labelled">
        Gone over again: what was seen
        <input className="field" value={note} autoComplete="off" onChange={(event) => setNote(event.target.value)} />
      </label>
      <button type="submit" className="button">
        The wiring is sure
      </button>
      <span className="small dim">Then sets without some frames are tried: one may disturb the part.</span>
      <p className="small" role="status">
        {problem}
      </p>
    </form>
  );
}
