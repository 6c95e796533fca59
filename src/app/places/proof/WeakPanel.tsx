/** The panel of "What is still weak?": what to record next, in the order to make it, and what to take along. */
import type { ReactNode } from 'react';
import type { Need, NextRecording, Sufficiency, TakeAlong } from '../../../proof/suffices/types.ts';
import type { Finding } from '../../stores/finding.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { capital, sentence } from '../../words/sentence.ts';
import { openCard, saveCard } from './cards.ts';
import { NeedGlyph } from './Glyphs.tsx';
import { cardParts, minutes, NEED_VERDICTS, NEED_WORDS, settledBy } from './needs.ts';
import { useProof } from './store.ts';

export function WeakPanel({ finding }: { finding: Finding<Sufficiency> }): ReactNode {
  const { value } = finding;
  return (
    <div className="proof-panel">
      {value && <Next recordings={value.next} needs={value.needs} />}
      {value && <BeyondPart beyond={value.beyond} />}
      {value && <Take take={value.take} />}
      <NeedLegend />
    </div>
  );
}

function Next({ recordings, needs }: { recordings: readonly NextRecording[]; needs: readonly Need[] }): ReactNode {
  const held = useProof((state) => state.recording);
  return (
    <section>
      <h3 className="proof-lead">Before you cut it up</h3>
      <p className="small dim">
        {recordings.length > 0
          ? 'Once the harness is off, these can never be recorded again. In the order to make them:'
          : 'Nothing is left to record, as far as this recording can tell.'}
      </p>
      <ol className="proof-next">
        {recordings.map((recording, at) => (
          <li key={recording.title}>
            <span className="proof-number" aria-hidden="true">
              {at + 1}
            </span>
            <div>
              <button
                type="button"
                className="proof-recording"
                aria-expanded={at === held}
                onClick={() => useProof.getState().set({ recording: at === held ? -1 : at })}
              >
                <b>{recording.title}</b>
                <span className="small dim">
                  {minutes(recording.lastsS)}
                  {recording.settles.length > 0 ? `; settles ${plural(recording.settles.length, 'need')}` : ''}
                </span>
              </button>
              {at === held && <Card recording={recording} needs={needs} />}
            </div>
          </li>
        ))}
      </ol>
    </section>
  );
}

function Card({ recording, needs }: { recording: NextRecording; needs: readonly Need[] }): ReactNode {
  return (
    <>
      <Settles recording={recording} needs={needs} />
      <p className="line-of proof-card-buttons">
        <button type="button" className="button go" onClick={() => openCard(recording)}>
          Make it the run card <kbd>C</kbd>
        </button>
        <button type="button" className="button" onClick={() => saveCard(recording)}>
          Save it <kbd>S</kbd>
        </button>
      </p>
      <p className="small dim">{recording.logger}</p>
      <ul className="proof-card">
        {cardParts(recording.card).map(({ times, lines }, at) =>
          times === 1 ? (
            lines.map((line, place) => <li key={`${at} ${place}`}>{line}</li>)
          ) : (
            <li key={at} className="proof-rounds">
              {times} times over:
              <ul>
                {lines.map((line, place) => (
                  <li key={place}>{line}</li>
                ))}
              </ul>
            </li>
          ),
        )}
      </ul>
    </>
  );
}

/** What it settles, kind by kind; guards may stay open, as nobody knows what moves the bits that never moved. */
function Settles({ recording, needs }: { recording: NextRecording; needs: readonly Need[] }): ReactNode {
  const groups = settledBy(recording, needs);
  if (groups.length === 0) return null;
  return (
    <dl className="proof-settles small">
      {groups.map(({ kind, about }) => (
        <div key={kind}>
          <dt className="dim">{kind}</dt>
          <dd>{about}</dd>
        </div>
      ))}
    </dl>
  );
}

/** What a donor that cannot drive will never show, and what to do instead; empty for one that can. */
function BeyondPart({ beyond }: Pick<Sufficiency, 'beyond'>): ReactNode {
  if (beyond.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>What this donor cannot show</h3>
      <dl className="proof-take">
        {beyond.map(({ about, says, instead }) => (
          <div key={about}>
            <dt>{capital(about)}</dt>
            <dd className="small">
              {sentence(says)} {instead && <span className="dim">Instead: {sentence(instead)}</span>}
            </dd>
          </div>
        ))}
      </dl>
    </section>
  );
}

const TAKE_WORDS: Readonly<Record<TakeAlong['kind'], string>> = {
  'partner-modules': 'Partner modules',
  keys: 'Keys',
  plugs: 'Plugs',
};

function Take({ take }: { take: readonly TakeAlong[] }): ReactNode {
  if (take.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>Take along</h3>
      <dl className="proof-take">
        {take.map(({ kind, says }) => (
          <div key={kind}>
            <dt>{TAKE_WORDS[kind]}</dt>
            <dd className="small">{says}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}

const MEANINGS = {
  short: 'the recording does not have it',
  'cannot-tell': 'nothing in it shows whether it has',
  enough: 'it is there',
} as const;

function NeedLegend(): ReactNode {
  return (
    <section className="panel-part">
      <h3>What a recording has</h3>
      <dl className="proof-legend">
        {NEED_VERDICTS.map((verdict) => (
          <div key={verdict}>
            <dt>
              <NeedGlyph verdict={verdict} /> {NEED_WORDS[verdict]}
            </dt>
            <dd className="dim">{MEANINGS[verdict]}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
