/** What may move the machine stays out of the encoder until its name is written here, one at a time; a release is a decision, with undo. */
import { useId, useMemo, useState, type FormEvent, type ReactNode } from 'react';
import type { SignalMap } from '../../../../map/schema.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { chooseCode, useCodeChoices } from '../choices.ts';
import { releasable, whyNoRelease } from './release.ts';

const takeBack = (name: string, release: readonly string[]): void =>
  chooseCode(`take back the release of ${name}`, { release: release.filter((other) => other !== name) });

function waitingWords(n: number): string {
  if (n === 0) return 'no other signal is known to move the machine';
  return `${plural(n, 'signal')} that may move the machine ${n === 1 ? 'stays' : 'stay'} out`;
}

export function Releases({ map }: { map: SignalMap }): ReactNode {
  const { release } = useCodeChoices();
  const names = useMemo(() => releasable(map), [map]);
  const waiting = names.filter((name) => !release.includes(name));
  return (
    <details className="handover-releases" open={release.length > 0}>
      <summary>
        <b>Released by name</b>{' '}
        <span className="dim small">
          {release.length === 0 ? 'nothing' : release.length}; {waitingWords(waiting.length)}
        </span>
      </summary>
      <ReleaseField names={names} released={release} />
      {release.length > 0 && (
        <ul>
          {release.map((name) => (
            <li key={name}>
              <span className="mono">{name}</span>
              {!names.includes(name) && <span className="small dim">not in this map, or it cannot be sent</span>}
              <button type="button" className="button plain" onClick={() => takeBack(name, release)}>
                Take back<span className="unseen"> {name}</span>
              </button>
            </li>
          ))}
        </ul>
      )}
      {waiting.length > 0 && (
        <p className="small dim">
          Not released: <span className="mono handover-names">{waiting.join(', ')}</span>
        </p>
      )}
    </details>
  );
}

function ReleaseField({ names, released }: { names: readonly string[]; released: readonly string[] }): ReactNode {
  const [typed, setTyped] = useState('');
  const [why, setWhy] = useState<string | null>(null);
  const problem = useId();
  const release = (event: FormEvent): void => {
    event.preventDefault();
    const name = typed.trim();
    const refused = whyNoRelease(name, names, released);
    setWhy(refused);
    if (refused) return;
    chooseCode(`release ${name}`, { release: [...released, name] });
    setTyped('');
  };
  return (
    <form className="line-of" onSubmit={release}>
      <label className="labelled">
        Write the whole name
        <input
          className="field mono"
          value={typed}
          autoComplete="off"
          spellCheck={false}
          placeholder="frame.signal"
          aria-invalid={why !== null}
          aria-describedby={why ? problem : undefined}
          onChange={(event) => {
            setTyped(event.target.value);
            setWhy(null);
          }}
        />
      </label>
      <button type="submit" className="button">
        Release <kbd>↵</kbd>
      </button>
      <p id={problem} className="small" role="status">
        {why ?? ''}
      </p>
    </form>
  );
}
