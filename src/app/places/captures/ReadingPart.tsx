/** How far reading has come, how fast, and what to do where it did not succeed. */
import type { ReactNode } from 'react';
import { describeProblem, type Problem } from '../../../kit/outcome.ts';
import { pickFiles } from '../../shell/files.ts';
import type { CurrentCapture } from '../../stores/finding.ts';
import type { OpenCapture } from '../../stores/captures.ts';
import { addFiles, resumeReading, restoreFiles, stopReading } from '../../stores/reading.ts';
import { bytes, count, duration, percent, plural } from '../../../kit/sheet-figures.ts';

export function ReadingPart({ current }: { current: CurrentCapture }): ReactNode {
  const { open } = current;
  if (open.phase === 'reading') return <Progress open={open} />;
  if (open.phase === 'failed') return <Failed open={open} />;
  if (open.phase === 'ready') return null;
  return <Waiting current={current} />;
}

function Progress({ open }: { open: OpenCapture }): ReactNode {
  const { progress, lastsMs } = open;
  const share = progress?.bytesTotal ? progress.bytesRead / progress.bytesTotal : 0;
  const perSecond = progress && lastsMs > 50 ? (progress.bytesRead / lastsMs) * 1000 : 0;
  const leftS = perSecond && progress ? (progress.bytesTotal - progress.bytesRead) / perSecond : null;
  return (
    <section>
      <p className="line-of" style={{ alignItems: 'baseline' }}>
        <span className="huge">{percent(share)}</span>
        <span className="dim">
          {leftS === null
            ? 'starting'
            : leftS < 1
              ? 'less than 1 s left'
              : `about ${Math.ceil(leftS) < 60 ? `${Math.ceil(leftS)} s` : duration(leftS)} left`}
        </span>
      </p>
      <div
        className="progress"
        role="progressbar"
        aria-label="Reading"
        aria-valuemin={0}
        aria-valuemax={100}
        aria-valuenow={Math.round(share * 100)}
      >
        <span style={{ width: `${share * 100}%` }} />
      </div>
      {progress && (
        <>
          <p>
            {count(progress.frames)} frames from {bytes(progress.bytesRead)} of {bytes(progress.bytesTotal)}
            {perSecond ? `, at ${bytes(perSecond)}/s` : ''}
          </p>
          <p className="dim">
            {open.firstIdentifierMs === null
              ? 'No identifier yet.'
              : `First identifiers after ${duration(open.firstIdentifierMs / 1000)}; ${count(progress.streams.length)} so far.`}{' '}
            {progress.rejected ? `${plural(progress.rejected, 'line')} rejected so far.` : ''}
          </p>
          <p className="inferred dim small" style={{ marginTop: 8 }}>
            The picture grows from left to right. You can leave this place; reading goes on.
          </p>
        </>
      )}
      <p style={{ marginTop: 12 }}>
        <button type="button" className="button" onClick={() => stopReading(open.id)}>
          Stop reading <kbd>Esc</kbd>
        </button>
      </p>
    </section>
  );
}

function FailSign(): ReactNode {
  return (
    <svg width="15" height="15" viewBox="0 0 15 15" aria-hidden="true" style={{ flex: 'none' }}>
      <path d="M0 0h15v15H0z" fill="var(--ink)" />
      <path d="M4 4l7 7M11 4l-7 7" stroke="var(--ground)" strokeWidth="1.8" />
    </svg>
  );
}

function Failed({ open }: { open: OpenCapture }): ReactNode {
  return (
    <section>
      <h3 className="line-of">
        <FailSign /> Not read
      </h3>
      <Problems problems={open.problems} />
      <p className="line-of" style={{ marginTop: 12 }}>
        <button type="button" className="button" onClick={() => resumeReading(open.id)}>
          Read it again
        </button>
      </p>
    </section>
  );
}

export function Problems({ problems }: { problems: readonly Problem[] }): ReactNode {
  return (
    <ul className="problems">
      {problems.map((problem, index) => (
        <li key={index}>{describeProblem(problem)}</li>
      ))}
    </ul>
  );
}

const handOver = async (current: CurrentCapture): Promise<void> => {
  const files = (await pickFiles('', true)).map((file) => ({ name: file.name, blob: file }));
  if (!files.length) return;
  if (current.open.phase === 'unrecorded') addFiles(current.entry.id, files);
  else restoreFiles(current.entry.id, files);
};

function Waiting({ current }: { current: CurrentCapture }): ReactNode {
  const { entry, open } = current;
  const names = entry.files.map(({ name, bytes: size }) => `${name} (${bytes(size)})`).join(', ');
  if (open.phase === 'waiting')
    return (
      <section>
        <h3>Waits for its turn</h3>
        <p className="dim">Another capture is being read first.</p>
      </section>
    );
  if (open.phase === 'stopped')
    return (
      <section>
        <h3>Stopped</h3>
        <p className="dim">Nothing made by hand is lost. Reading starts again from the beginning.</p>
        <p style={{ marginTop: 12 }}>
          <button type="button" className="button go" onClick={() => resumeReading(open.id)}>
            Read it
          </button>
        </p>
      </section>
    );
  const unrecorded = open.phase === 'unrecorded';
  return (
    <section>
      <h3>{unrecorded ? 'Marks without a recording' : 'The file is not in this browser'}</h3>
      <p className="dim">
        {unrecorded
          ? `${plural(entry.marks.length, 'mark')} wait for the recording that was made at the same time.`
          : `The dossier was made from ${names}. Hand it over again: it is known by its digest. What you decided is all here.`}
      </p>
      <p style={{ marginTop: 12 }}>
        <button type="button" className="button go" onClick={() => void handOver(current)}>
          {unrecorded ? 'Add its files' : 'Choose the file'}
        </button>
      </p>
    </section>
  );
}
