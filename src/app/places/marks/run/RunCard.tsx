/** The run card: a list of actions to perform in the vehicle. Large words, a count-down, one big button a step; it writes the marks. */
import { useMemo, useState, type ReactNode } from 'react';
import { useKeys, type KeyGroup } from '../../../shell/keys.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { useMarksPlace } from '../store.ts';
import { stepOf, turnOf, type Run } from './machine.ts';
import { BigButton, Count, Feel } from './RunParts.tsx';
import { PlanEditor } from './PlanEditor.tsx';
import { readySound } from './sound.ts';
import { useRun, type RunControl } from './use-run.ts';

export function RunCard(): ReactNode {
  const state = useMarksPlace(({ runCard }) => runCard);
  const [sound, setSound] = useState(false);
  if (state === 'off') return null;
  const toggleSound = (on: boolean): void => {
    if (on) readySound();
    setSound(on);
  };
  if (state === 'plan') return <PlanEditor sound={sound} onSound={toggleSound} />;
  return <Running sound={sound} />;
}

function Running({ sound }: { sound: boolean }): ReactNode {
  const control = useRun(sound);
  const { run } = control;
  useRunKeys(control);
  if (run.phase === 'done') return <Done run={run} />;
  return (
    <section className="run-card" aria-label="Run card">
      <Header run={run} />
      <Segments run={run} />
      <p className="dim small">{whichTurn(run)}</p>
      <p className="cue" aria-live="assertive">
        {cueWords(run)}
      </p>
      <Feel control={control} />
      <Count control={control} />
      <BigButton control={control} />
      <div className="line-of run-others">
        <button
          type="button"
          className="button"
          disabled={run.phase !== 'hold' && run.lastMark === null}
          onClick={control.wrong}
        >
          That went wrong <kbd>X</kbd>
        </button>
        <button type="button" className="button" onClick={control.pauseOrResume}>
          {run.pausedAt === null ? 'Pause' : 'Go on'} <kbd>P</kbd>
        </button>
        <button type="button" className="button" onClick={leave}>
          Leave
        </button>
      </div>
      <WhatNext run={run} />
      <p className="small dim inferred">
        Pauses differ in length on purpose, so that nothing that merely repeats can look like an answer.
      </p>
      <p className="run-foot small dim">
        {sound ? 'Sound on.' : 'Sound off.'} Marks are kept as they are made. Works on a phone with no capture loaded.
      </p>
    </section>
  );
}

const leave = (): void => useMarksPlace.getState().setRunCard('off');

function Header({ run }: { run: Run }): ReactNode {
  const turn = turnOf(run);
  return (
    <h3 className="line-of">
      Run card{' '}
      <small>
        {plural(run.plan.length, 'step')}, {plural(run.turns.length, 'turn')}
      </small>
      <span className="spring" />
      <small>
        {(turn?.step ?? 0) + 1} of {run.plan.length}
      </small>
    </h3>
  );
}

function Segments({ run }: { run: Run }): ReactNode {
  const step = turnOf(run)?.step ?? 0;
  return (
    <div className="segments" aria-hidden="true">
      {run.plan.map((_, index) => (
        <i key={index} className={index < step ? 'past' : index === step ? 'now' : ''} />
      ))}
    </div>
  );
}

const ORDINALS = ['first', 'second', 'third', 'fourth', 'fifth', 'sixth', 'seventh', 'eighth', 'ninth', 'tenth'];
function whichTurn(run: Run): string {
  const turn = turnOf(run);
  const step = stepOf(run);
  if (!turn || !step) return '';
  const which = ORDINALS[turn.repetition - 1] ?? `${turn.repetition}th`;
  return step.times > 1 ? `${which} of ${step.times} times` : 'once';
}

function cueWords(run: Run): string {
  if (run.pausedAt !== null) return 'Paused';
  const says = stepOf(run)?.says ?? '';
  if (run.phase === 'rest') return 'Touch nothing';
  return says;
}

function WhatNext({ run }: { run: Run }): ReactNode {
  const step = turnOf(run)?.step ?? 0;
  const rows = run.plan.map((row, index) => ({ row, index, written: run.written[index] ?? 0 }));
  const words = ({ holdS, says }: Run['plan'][number]): string => (holdS ? `${says}, ${holdS} s` : says);
  return (
    <table className="list run-list" aria-label="Before and next">
      <thead>
        <tr>
          <th>before, now and next</th>
          <th className="right">written</th>
        </tr>
      </thead>
      <tbody>
        {rows
          .filter(({ index }) => index >= step - 1 && index <= step + 3)
          .map(({ row, index, written }) => (
            <tr key={index} className={index === step ? 'current' : ''}>
              <td>{words(row)}</td>
              <td className="right">{row.action ? `${written} of ${row.times}` : ''}</td>
            </tr>
          ))}
      </tbody>
    </table>
  );
}

function Done({ run }: { run: Run }): ReactNode {
  const total = run.written.reduce((sum, n) => sum + n, 0);
  return (
    <section className="run-card" aria-label="Run card">
      <h3>
        Run card <small>done</small>
      </h3>
      <p className="cue">{plural(total, 'mark')} written</p>
      <p className="dim">
        Stop the logger now, then add its recording to these marks in Captures. The clocks need not agree: the offset is
        found from the data.
      </p>
      <p style={{ marginTop: 16 }}>
        <button type="button" className="button go" onClick={leave}>
          Close the card
        </button>
      </p>
    </section>
  );
}

function useRunKeys(control: RunControl): void {
  const group = useMemo<KeyGroup>(
    () => ({
      title: 'Run card',
      bindings: [
        { key: ' ', says: 'the big button', run: control.press },
        { key: 'x', says: 'that went wrong', run: control.wrong },
        { key: 'p', says: 'pause, go on', run: control.pauseOrResume },
      ],
    }),
    [control],
  );
  useKeys(group);
}
