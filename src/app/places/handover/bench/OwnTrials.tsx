/** Once a set works: how long the part bears the silence of one frame of it, and whether it follows a signal that is sent with another value. */
import { useState, type FormEvent, type ReactNode } from 'react';
import { stopTrial, varyTrial } from '../../../../handover/bench/own-trials.ts';
import type { TrialToRun } from '../../../../handover/bench/trial-files.ts';
import { describeProblem, type Outcome } from '../../../../kit/outcome.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import { ownNumbers, sendableSignals, type NamedSignal } from './own-signals.ts';
import { useBenchView } from './store.ts';
import type { BenchNow } from './use-bench.ts';
import { figureOf } from './words.ts';

function ask(made: Outcome<TrialToRun>, follows: NamedSignal | null): string | null {
  if (!made.ok) return made.problems.map(describeProblem).join(' ');
  useBenchView.getState().set({ own: made.value, follows, observed: null, problem: null });
  return null;
}

export function OwnTrials({ now }: { now: BenchNow }): ReactNode {
  const own = useBenchView((state) => state.own);
  const { step } = now.state;
  if (step.kind !== 'found') return null;
  if (own)
    return (
      <p>
        <button type="button" className="button" onClick={() => useBenchView.getState().set({ own: null })}>
          Not this trial
        </button>
      </p>
    );
  return (
    <details>
      <summary>
        <b>Further trials</b> <span className="dim">a frame falls silent, a signal has another value</span>
      </summary>
      {step.needed.length > 0 && <Stop now={now} needed={step.needed} />}
      <Vary now={now} />
    </details>
  );
}

function Stop({ now, needed }: { now: BenchNow; needed: readonly string[] }): ReactNode {
  const [key, setKey] = useState(needed[0] ?? '');
  const [problem, setProblem] = useState<string | null>(null);
  const nameOf = (wanted: string): string => now.map.frames.find((frame) => frameKey(frame) === wanted)?.name ?? '';
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    setProblem(ask(stopTrial(now.record, now.state, key), null));
  };
  return (
    <form className="line-of bench-own" onSubmit={submit}>
      <label className="labelled">
        This frame falls silent
        <select className="field" value={key} onChange={(event) => setKey(event.target.value)}>
          {needed.map((each) => (
            <option key={each} value={each}>
              {nameOf(each)} {each}
            </option>
          ))}
        </select>
      </label>
      <button type="submit" className="button">
        Time the reaction
      </button>
      <Problem words={problem} />
    </form>
  );
}

const signalId = ({ frame, signal }: NamedSignal): string => JSON.stringify([frame, signal]);

function Vary({ now }: { now: BenchNow }): ReactNode {
  const [signals, numbers] = [sendableSignals(now), ownNumbers(now.map)];
  const [chosen, setChosen] = useState('');
  const [figure, setFigure] = useState('');
  const [follows, setFollows] = useState('');
  const [problem, setProblem] = useState<string | null>(null);
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    const signal = signals.find((each) => signalId(each) === chosen);
    const value = figureOf(figure);
    if (!signal || value === null || Number.isNaN(value)) return setProblem('Choose a signal and write its value.');
    const { frame, signal: name } = signal;
    const made = varyTrial(now.map, now.record, now.state, { frame, signal: name, value });
    setProblem(ask(made, numbers.find((each) => signalId(each) === follows) ?? null));
  };
  if (signals.length === 0) return null;
  return (
    <form className="line-of bench-own" onSubmit={submit}>
      <SignalSelect label="This signal" none="choose" of={signals} value={chosen} onChange={setChosen} />
      <label className="labelled bench-own-value">
        is sent as
        <input
          className="field"
          inputMode="decimal"
          value={figure}
          autoComplete="off"
          onChange={(event) => setFigure(event.target.value)}
        />
      </label>
      <SignalSelect label="and should move" none="nothing watched" of={numbers} value={follows} onChange={setFollows} />
      <button type="submit" className="button">
        Vary it
      </button>
      <Problem words={problem} />
    </form>
  );
}

interface SignalSelectProps {
  readonly label: string;
  readonly none: string;
  readonly of: readonly NamedSignal[];
  readonly value: string;
  readonly onChange: (value: string) => void;
}

const SignalSelect = ({ label, none, of, value, onChange }: SignalSelectProps): ReactNode => (
  <label className="labelled">
    {label}
    <select className="field" value={value} onChange={(event) => onChange(event.target.value)}>
      <option value="">{none}</option>
      {of.map((each) => (
        <option key={signalId(each)} value={signalId(each)}>
          {each.called}
        </option>
      ))}
    </select>
  </label>
);

const Problem = ({ words }: { words: string | null }): ReactNode => (
  <p className="small" role="status">
    {words ?? ''}
  </p>
);
