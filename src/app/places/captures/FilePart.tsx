/** How each file was understood, in the reader's own words, and every line that was not taken. */
import { useState, type ReactNode } from 'react';
import type { CurrentCapture } from '../../stores/finding.ts';
import { setBus } from '../../stores/reading.ts';
import type { FileReport } from '../../../frames/table.ts';
import { count, fixed, plural } from '../../../kit/sheet-figures.ts';
import { Problems } from './ReadingPart.tsx';

export function FilePart({ file, onColumns }: { file: FileReport; onColumns: (() => void) | null }): ReactNode {
  return (
    <section>
      <h3>
        How it was read <small>{file.name}</small>
      </h3>
      <p className="small">{file.why}</p>
      <p className="small dim">
        {plural(file.lines, 'line')}: {count(file.accepted)} taken, {count(file.rejected)} rejected,{' '}
        {count(file.passedOver)} passed over (blank, headings, comments).
        {file.outOfOrder ? ` ${count(file.outOfOrder)} stamps ran back and were put in order.` : ''}
      </p>
      <Problems problems={file.warnings} />
      <ClockEvents file={file} />
      {onColumns && (
        <p style={{ marginTop: 8 }}>
          <button type="button" className="button" onClick={onColumns}>
            Which column is which?
          </button>
        </p>
      )}
    </section>
  );
}

function ClockEvents({ file }: { file: FileReport }): ReactNode {
  if (!file.clockEvents.length) return null;
  return (
    <ul className="problems">
      {file.clockEvents.slice(0, 8).map((event, index) => (
        <li key={index}>
          line {count(event.line)}, at {fixed(event.atS, 1)} s: {event.words}
        </li>
      ))}
      {file.clockEvents.length > 8 && <li>and {file.clockEvents.length - 8} more</li>}
    </ul>
  );
}

const FIRST_SHOWN = 6;

export function RejectedPart({ file }: { file: FileReport }): ReactNode {
  const [all, setAll] = useState(false);
  if (!file.rejected) return null;
  const shown = all ? file.rejects : file.rejects.slice(0, FIRST_SHOWN);
  return (
    <section>
      <h3>
        {plural(file.rejected, 'line')} rejected <small>of {count(file.lines)}</small>
      </h3>
      <table className="list" aria-label={`Rejected lines of ${file.name}`}>
        <thead>
          <tr>
            <th className="right" style={{ paddingRight: 12, width: 72 }}>
              line
            </th>
            <th>why</th>
          </tr>
        </thead>
        <tbody>
          {shown.map((reject) => (
            <tr key={reject.line}>
              <td className="right mono" style={{ paddingRight: 12 }}>
                {count(reject.line)}
              </td>
              <td>
                {reject.reason}
                {all && <span className="mono dim reject-text">{reject.text}</span>}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="small dim" style={{ marginTop: 6 }}>
        {file.rejectReasons.map(({ reason, count: n }) => `${count(n)} × ${reason}`).join('; ')}. Nothing is dropped in
        silence.
      </p>
      <p style={{ marginTop: 8 }}>
        <button type="button" className="button" aria-expanded={all} onClick={() => setAll(!all)}>
          {all
            ? 'Show fewer'
            : `Show ${file.rejected > file.rejects.length ? `the first ${file.rejects.length}` : 'them'} with their text`}
        </button>
      </p>
    </section>
  );
}

/** Where a capture has several files: the bus that each is of, if its lines do not name it. */
export function BusesPart({ current }: { current: CurrentCapture }): ReactNode {
  const { entry } = current;
  if (entry.files.length < 2) return null;
  return (
    <section>
      <h3>Which bus is each file of?</h3>
      <p className="small dim">Only for files whose lines name no bus.</p>
      {entry.files.map((file, place) => (
        <BusField key={`${file.name}${place}`} id={entry.id} place={place} name={file.name} bus={file.bus ?? ''} />
      ))}
    </section>
  );
}

function BusField({ id, place, name, bus }: { id: string; place: number; name: string; bus: string }): ReactNode {
  const [text, setText] = useState(bus);
  const take = (): void => setBus(id, place, text);
  return (
    <label className="labelled" style={{ marginTop: 6 }}>
      {name}
      <input
        className="field"
        placeholder="as its lines say"
        value={text}
        onChange={(event) => setText(event.target.value)}
        onBlur={take}
        onKeyDown={(event) => event.key === 'Enter' && take()}
      />
    </label>
  );
}
