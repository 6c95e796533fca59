/** The span that is sent from: marked at rest by a person, and borne out by the frames. Those that are refused stand there with the reason. */
import type { ReactNode } from 'react';
import { describeProblem } from '../../../../kit/outcome.ts';
import { count, duration } from '../../../../kit/sheet-figures.ts';
import type { RestMark } from '../../../../handover/sending/rest-spans.ts';
import type { RestCheck } from '../../../../handover/sending/rest-check.ts';
import { useView } from '../../../stores/view.ts';
import type { MarkedRest } from './asking.ts';
import { keepSpan, spanName } from './span.ts';

const seconds = ({ fromS, toS }: { fromS: number; toS: number }): string =>
  `${fromS.toFixed(2)} to ${toS.toFixed(2)} s`;

export function SpanPart({ rest }: { rest: MarkedRest }): ReactNode {
  const { spans } = rest;
  if (!spans) return <p className="small dim">The recording is not read yet.</p>;
  return (
    <section className="sending-section">
      <h3>
        From a span at rest <small>of “{spans.title}”</small>
      </h3>
      {spans.spans.length === 0 ? (
        <NoSpan clockKnown={spans.clockKnown} marked={spans.marked} />
      ) : (
        <fieldset className="sending-spans">
          <legend className="unseen">Span at rest</legend>
          {spans.spans.map((span) => (
            <SpanLine key={spanName(span)} span={span} capture={spans.capture} isChosen={span === spans.chosen} />
          ))}
        </fieldset>
      )}
      <Checked rest={rest} />
    </section>
  );
}

function NoSpan({ clockKnown, marked }: { clockKnown: boolean; marked: number }): ReactNode {
  return (
    <p className="line-of">
      <span>
        {marked > 0 && !clockKnown
          ? 'Where the marks stand on this recording is not known, and for sending that is not guessed: hold their clock in Marks.'
          : 'Nothing may be sent yet: no mark says “at rest”. Mark a span in park, no pedal touched, not charging, with these words.'}
      </span>
      <button type="button" className="button" onClick={() => useView.getState().go('marks')}>
        Go to Marks
      </button>
    </p>
  );
}

interface SpanLineProps {
  readonly span: RestMark;
  readonly capture: string;
  readonly isChosen: boolean;
}

function SpanLine({ span, capture, isChosen }: SpanLineProps): ReactNode {
  const { action, number, inner, refused } = span;
  return (
    <label className={refused ? 'refused' : ''}>
      <input
        type="radio"
        name="rest-span"
        checked={isChosen}
        disabled={refused !== null}
        onChange={() => keepSpan(capture, span)}
      />
      <span>
        {action} <span className="dim small">{number}</span>
      </span>
      <span className="small">
        {refused ? (
          <>refused: {refused}</>
        ) : (
          <>
            {seconds(inner)}, {duration(inner.toS - inner.fromS)} <span className="dim">without its ends</span>
          </>
        )}
      </span>
    </label>
  );
}

/** What the frames say of it. */
function Checked({ rest: { answer, waits, failed, spans } }: { rest: MarkedRest }): ReactNode {
  if (!spans?.chosen) return null;
  if (failed) return <p role="alert">The span could not be looked at: {failed}</p>;
  if (waits || !answer)
    return (
      <p className="small inferred" role="status">
        The frames of the span are being looked at.
      </p>
    );
  if (answer.problems.length > 0)
    return (
      <p role="alert" className="sending-problem">
        {answer.problems.map(describeProblem).join(' ')}
      </p>
    );
  return answer.check && <p className="small dim">{checkWords(answer.check, answer.rest.length)}</p>;
}

const TOPICS: Readonly<Record<string, string>> = {
  selector: 'the selector',
  pedal: 'a pedal',
  charging: 'charging',
  mode: 'the mode',
  motion: 'motion',
};

function checkWords({ witnesses, unwatched }: RestCheck, frames: number): string {
  const named = [...new Set(witnesses.map(({ name }) => name))];
  const borne =
    named.length > 0
      ? `${named.slice(0, 4).join(', ')}${named.length > 4 ? ` and ${named.length - 4} more` : ''} bear it out`
      : 'no signal of the map bears it out';
  const alone =
    unwatched.length > 0
      ? `; of ${unwatched.map((topic) => TOPICS[topic] ?? topic).join(', ')} only your mark speaks`
      : '';
  return `${count(frames)} frames have a payload in it; ${borne}${alone}.`;
}
