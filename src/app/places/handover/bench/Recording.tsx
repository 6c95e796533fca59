/** The recording of the trial: dropped or picked, read, judged; and what only the person can say of it before it goes on record. */
import { useMemo, useState, type ReactNode } from 'react';
import { percent } from '../../../../kit/sheet-figures.ts';
import type { TrialToRun } from '../../../../handover/bench/trial-files.ts';
import { pickFiles } from '../../../shell/files.ts';
import { useDropTarget } from '../../../shell/drop-targets.ts';
import { isOfTrial, judgedSoFar, trialWith, withObserved } from './judged.ts';
import { keepBench } from './kept.ts';
import { readTrial, silentTrial } from './reading.ts';
import { useBenchView, type Observed } from './store.ts';
import type { BenchNow } from './use-bench.ts';
import { VerdictGlyph } from './VerdictGlyph.tsx';
import { VERDICT_WORDS, type Verdict } from './words.ts';

interface RecordingProps {
  readonly now: BenchNow;
  readonly trial: TrialToRun;
}

/** Ends of file names that recordings have; others can be dropped. */
const RECORDINGS = '.log,.txt,.csv,.asc,.gz,.pcapng,.pcap';

export function Recording({ now, trial }: RecordingProps): ReactNode {
  const { reading, observed, problem } = useBenchView();
  const target = useMemo(
    () => ({
      title: `The recording of trial ${trial.number}`,
      says: 'read and judged; not kept as a capture',
      take: (files: readonly File[]) => void readTrial(files, { ...now, trial }),
    }),
    [now, trial],
  );
  useDropTarget(target);
  const known = observed ? trialWith(now.record, observed) : null;
  return (
    <div className="bench-recording">
      <p className="line-of">
        <button
          type="button"
          className="button bench-pick"
          onClick={() => void pickFiles(RECORDINGS, true).then(target.take)}
        >
          Recording of trial {trial.number} <kbd>T</kbd>
        </button>
        {trial.sent.length === 0 && (
          <button type="button" className="button" onClick={() => silentTrial({ ...now, trial })}>
            Nothing at all was heard
          </button>
        )}
        <span className="small dim">or drop it on the page</span>
      </p>
      {reading && (
        <p className="line-of" role="status">
          <span>The recording is being read: {percent(reading.share)}.</span>
          <button type="button" className="button" onClick={reading.stop}>
            Stop <kbd>X</kbd>
          </button>
        </p>
      )}
      {problem && (
        <p role="alert" className="sending-problem">
          {problem}
        </p>
      )}
      {observed && known !== null && (
        <p role="alert" className="sending-problem">
          This very recording is on record as that of trial {known}: it does not count twice.
        </p>
      )}
      {observed && known === null && isOfTrial(observed, trial) && <Judged now={now} observed={observed} />}
    </div>
  );
}

const MOVED: readonly (readonly [string, boolean | null])[] = [
  ['no', false],
  ['yes', true],
  ['nobody watched', null],
];

function Judged({ now, observed }: { now: BenchNow; observed: Observed }): ReactNode {
  const { map, record } = now;
  const judged = useMemo(() => judgedSoFar(map, record, observed), [map, record, observed]);
  const [seen, setSeen] = useState<Verdict | ''>('');
  const [note, setNote] = useState('');
  const add = (moved: boolean | null): void => {
    const said = {
      moved,
      seen: seen === '' ? null : { verdict: seen, note: note.trim() },
      at: new Date().toISOString(),
    };
    keepBench(`add trial ${observed.trial.number}`, withObserved(record, observed, said));
    useBenchView.getState().set({ observed: null, own: null });
  };
  return (
    <section className="bench-judged" aria-label="What the recording shows">
      <p className="bench-verdict" role="status">
        <VerdictGlyph verdict={judged.verdict} /> <b>{VERDICT_WORDS[judged.verdict]}</b>{' '}
        <span className="small dim">{observed.capture?.title ?? 'nothing heard'}</span>
      </p>
      <ul className="bench-reasons">
        {judged.reasons.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
      <details>
        <summary className="small">I saw something else</summary>
        <div className="line-of bench-seen">
          <label className="labelled">
            The part was
            <select className="field" value={seen} onChange={(event) => setSeen(event.target.value as Verdict | '')}>
              <option value="">as the recording says</option>
              {(Object.keys(VERDICT_WORDS) as Verdict[]).map((verdict) => (
                <option key={verdict} value={verdict}>
                  {VERDICT_WORDS[verdict]}
                </option>
              ))}
            </select>
          </label>
          <label className="labelled">
            Seen by
            <input className="field" value={note} onChange={(event) => setNote(event.target.value)} />
          </label>
        </div>
      </details>
      <div className="bench-moved" role="group" aria-labelledby="bench-moved">
        <span id="bench-moved">
          <b>Did anything move or click that should not?</b> The answer puts the trial on record.
        </span>
        <span className="line-of">
          {MOVED.map(([words, moved]) => (
            <button key={words} type="button" className="button" onClick={() => add(moved)}>
              {words}
            </button>
          ))}
        </span>
      </div>
    </section>
  );
}
