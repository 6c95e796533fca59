/**
 * A short walk through the job: seven steps, each one click. On a first visit it stands where the pictures will; later in
 * the panel, until it is dismissed for good with another click.
 */
import { useState, type ReactNode } from 'react';
import type { PlaceName } from '../place.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useView } from '../../stores/view.ts';
import { capital } from '../../words/sentence.ts';

const KEY = 'loomscribe.walk-done';

const STEPS: readonly { readonly place: PlaceName; readonly title: string; readonly words: string }[] = [
  {
    place: 'captures',
    title: 'Look at what was recorded',
    words: 'Each thread is one identifier. It thickens where its payload moves: the drives stand out at a glance.',
  },
  {
    place: 'marks',
    title: 'Say what was done, and when',
    words:
      'M sets a mark at the cursor, M again ends it. The run card asks for actions in the vehicle and writes the marks itself.',
  },
  {
    place: 'senders',
    title: 'See who is talking',
    words:
      'Identifiers that keep one clock are bound into one branch: one module sends them. Name the modules that you know.',
  },
  {
    place: 'payloads',
    title: 'See which bits answer',
    words:
      'Choose an action; the fields that respond are listed with effect, lag and q. Three or more repetitions make it sure.',
  },
  {
    place: 'signals',
    title: 'Name one, and give it a scale',
    words: 'N names the field that is held. Meter readings or a reference file turn raw values into units.',
  },
  {
    place: 'proof',
    title: 'Hold it against another recording',
    words: 'What holds there is proven, what fails shows its moments. And what to record before the part is cut out.',
  },
  {
    place: 'handover',
    title: 'Save the signal map',
    words: 'The map is plain JSON, with the evidence for every name and what is still a guess said openly.',
  },
];

export function WalkRows(): ReactNode {
  return (
    <section className="walk-rows" aria-label="The job, in seven steps">
      {STEPS.map(({ place, title, words }, index) => (
        <Row
          key={place}
          className="walk-row"
          label={
            <span className="small dim">
              <span className="number">{index + 1}</span>
              {capital(place)}
            </span>
          }
        >
          <button type="button" className="button plain" onClick={() => useView.getState().go(place)}>
            {title}
          </button>
          <p className="small dim">{words}</p>
        </Row>
      ))}
    </section>
  );
}

export function Walk(): ReactNode {
  const [done, setDone] = useState(() => localStorage.getItem(KEY) !== null);
  if (done) return null;
  const dismiss = (): void => {
    localStorage.setItem(KEY, 'yes');
    setDone(true);
  };
  return (
    <section>
      <h3>The job, in seven steps</h3>
      <ol className="walk">
        {STEPS.map(({ place, title, words }) => (
          <li key={place}>
            <button type="button" className="button plain" onClick={() => useView.getState().go(place)}>
              {title}
            </button>
            <p className="small dim">{words}</p>
          </li>
        ))}
      </ol>
      <button type="button" className="button" onClick={dismiss}>
        I know the job
      </button>
    </section>
  );
}
