/** Publishing copy: map, report and log for others, without the numbers by which a vehicle or its owner can be told. */
import './publish.css';
import { useEffect, type ReactNode } from 'react';
import type { SignalMap } from '../../../../map/schema.ts';
import { CANNOT_FIND } from '../../../../handover/publish/list.ts';
import { count, percent, plural } from '../../../../kit/sheet-figures.ts';
import { useKeys, type KeyGroup } from '../../../shell/keys.ts';
import { useCurrentCapture } from '../../../stores/finding.ts';
import type { OutputDefinition, OutputProps } from '../output.ts';
import { copyFileName, isUpToDate, saveCopy, search } from './asking.ts';
import { isBlanked } from './finds.ts';
import { Numbers } from './Numbers.tsx';
import { usePublish } from './store.ts';
import { Typed } from './Typed.tsx';

const stop = (): void => usePublish.getState().running?.stop();

const KEYS: KeyGroup = {
  title: 'Publishing copy',
  bindings: [
    { key: 'x', says: 'stop searching', run: stop },
    { key: 'n', says: 'write a number to look for', run: () => document.getElementById('publish-number')?.focus() },
  ],
};

function Shown({ map }: OutputProps): ReactNode {
  useKeys(KEYS);
  const current = useCurrentCapture();
  const digest = current?.open.phase === 'ready' ? current.open.summary?.digest : undefined;
  const searched = usePublish((state) => state.searched);
  const problem = usePublish((state) => state.problem);
  const isOfCapture = searched !== null && searched.digest === digest;
  // Once a capture by itself; when the map has changed since, the person says when.
  useEffect(() => {
    if (digest && !isOfCapture && !usePublish.getState().running) void search(map);
  }, [digest, isOfCapture, map]);
  return (
    <>
      <h2 className="figure">Publishing copy</h2>
      <p className="dim small">
        Map, report and log of “{current?.entry.title}”, with the numbers below written over wherever they stand.
        Checksums over blanked bytes are made anew; a frame whose check cannot be made is left out and counted.
      </p>
      <Progress map={map} upToDate={isUpToDate(map, digest)} />
      {problem && (
        <p role="alert" className="publish-problem">
          {problem}
        </p>
      )}
      {isOfCapture && <Numbers />}
      <Typed map={map} />
      <Choices />
      <CannotFind />
    </>
  );
}

function Progress({ map, upToDate }: { map: SignalMap; upToDate: boolean }): ReactNode {
  const running = usePublish((state) => state.running);
  const answer = usePublish((state) => state.answer);
  if (running)
    return (
      <p className="line-of publish-progress" role="status">
        <span>
          {running.what === 'search' ? 'Looking for numbers' : 'Making the copy and searching it again'}:{' '}
          {percent(running.share)}.
        </span>
        <button type="button" className="button" onClick={stop}>
          Stop <kbd>X</kbd>
        </button>
      </p>
    );
  if (answer && upToDate) {
    const { tried, triedDigits } = answer.search;
    return (
      <p className="small dim">
        {count(tried)} runs of characters and {count(triedDigits)} of digits were judged against chance.
      </p>
    );
  }
  return (
    <p className="line-of publish-progress">
      <span className="inferred">{answer ? 'Found before your last change.' : 'Nothing has been looked for yet.'}</span>
      <button type="button" className="button" onClick={() => void search(map)}>
        {answer ? 'Look again' : 'Look for numbers'}
      </button>
    </p>
  );
}

function Choices(): ReactNode {
  const { hidesTimes, log, set } = usePublish();
  return (
    <section className="publish-choices">
      <label className="line-of">
        <input type="checkbox" checked={hidesTimes} onChange={(event) => set({ hidesTimes: event.target.checked })} />
        Times begin at zero: no day and no time of day
      </label>
      <span className="line-of">
        <span id="publish-log">The log as</span>
        <span className="switch" role="group" aria-labelledby="publish-log">
          {(['log', 'pcapng'] as const).map((one) => (
            <button key={one} type="button" aria-pressed={log === one} onClick={() => set({ log: one })}>
              {one === 'log' ? 'text lines' : 'packets'}
            </button>
          ))}
        </span>
      </span>
    </section>
  );
}

function CannotFind(): ReactNode {
  return (
    <details className="publish-cannot">
      <summary>
        <b>What cannot be found</b>
      </summary>
      <ul className="small">
        {CANNOT_FIND.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
    </details>
  );
}

function useLine(): string {
  const finds = usePublish((state) => state.answer?.search.finds);
  const keep = usePublish((state) => state.keep);
  const also = usePublish((state) => state.also);
  const running = usePublish((state) => state.running !== null);
  if (running) return 'looking for numbers';
  if (!finds) return 'for others: no numbers in it';
  const blanked = finds.filter((find) => isBlanked(find, { keep, also })).length;
  const left = finds.length - blanked;
  return `${plural(blanked, 'number')} to blank${left > 0 ? `, ${left} to leave` : ''}`;
}

export const output: OutputDefinition = {
  name: 'publish',
  title: 'Publishing copy',
  saves: 'copy',
  files: /(?!)/,
  sends: false,
  useLine,
  Shown,
  writes: copyFileName,
  save: saveCopy,
};
