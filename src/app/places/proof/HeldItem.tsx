/** The held item in words: how much of it agreed, each of its aspects with its figures, and the moments to go to. */
import type { ReactNode } from 'react';
import type { ProofAspect, ProofVerdict } from '../../../proof/hold/types.ts';
import { useView } from '../../stores/view.ts';
import { clock, count, percent, value as valueWords } from '../../../kit/sheet-figures.ts';
import { capital, sentence } from '../../words/sentence.ts';
import { seeInPayloads } from './actions.ts';
import { VerdictGlyph } from './Glyphs.tsx';
import { jumpTo } from './held.ts';
import { itemWords, VERDICT_WORDS, type FrameRow, type ItemRow } from './rows.ts';

const VERDICTS_BY_WEIGHT: readonly ProofVerdict[] = ['fails', 'holds', 'not-exercised'];

/** In the order in which they first come. */
const aspectKinds = (
  all: readonly ProofAspect[],
): readonly { readonly kind: string; readonly aspects: readonly ProofAspect[] }[] =>
  [...new Set(all.map(({ aspect }) => aspect))].map((kind) => ({
    kind,
    aspects: all.filter(({ aspect }) => aspect === kind),
  }));

export function HeldItem({ frame, row }: { frame: FrameRow; row: ItemRow }): ReactNode {
  const { item } = row;
  return (
    <section className="panel-part">
      <h3>
        <VerdictGlyph verdict={item.verdict} /> {row.title}{' '}
        <small>
          {VERDICT_WORDS[item.verdict]}, {itemWords(item.item)} of <span className="mono">{frame.shownId}</span>
        </small>
      </h3>
      {item.rate !== null && (item.verdict !== 'fails' || item.rate < 1) && (
        <p className="small">
          <b className="figure">{percent(item.rate, item.rate > 0.99 && item.rate < 1 ? 2 : 0)}</b>{' '}
          <span className="dim">of {count(item.n)} agreed</span>
        </p>
      )}
      {item.aspects && item.aspects.length > 0 ? (
        aspectKinds(item.aspects).map(({ kind, aspects }) => <Aspects key={kind} kind={kind} aspects={aspects} />)
      ) : (
        <p className="small">{capital(item.detail)}.</p>
      )}
      <Moments
        moments={item.moments}
        lead={`${item.verdict === 'fails' ? 'Where it failed' : 'Where it did not agree'}${item.moments.length >= MOMENTS_MOST ? ', the first of them' : ''}`}
        keys
      />
      {item.moments.length > 0 && (
        <button type="button" className="button" onClick={seeInPayloads}>
          See it in Payloads <kbd>P</kbd>
        </button>
      )}
    </section>
  );
}

const ASPECT_WORDS: Readonly<Record<string, string>> = {
  place: 'Where it lies, how it is coded',
  values: 'Its range and states',
  scale: 'Its scale',
  law: 'The physical laws it takes part in',
  answer: 'The actions it answers',
};

/** Aspects of one kind under one heading: what fails first, then what holds. */
function Aspects({ kind, aspects }: { kind: string; aspects: readonly ProofAspect[] }): ReactNode {
  const sorted = VERDICTS_BY_WEIGHT.flatMap((verdict) => aspects.filter((aspect) => aspect.verdict === verdict));
  return (
    <div className="proof-aspect">
      <p>
        <b>{ASPECT_WORDS[kind] ?? capital(kind.replaceAll('-', ' '))}</b>
      </p>
      <ul>
        {sorted.map((aspect, at) => (
          <li key={at}>
            <p className="small">
              <VerdictGlyph verdict={aspect.verdict} />
              <span>
                {sentence(aspect.detail)}
                <span className="unseen"> {VERDICT_WORDS[aspect.verdict]}</span>
              </span>
            </p>
            <Moments moments={aspect.moments ?? NO_MOMENTS} lead="Where it shows" />
            {sorted.length === 1 && <Figures figures={aspect.figures} />}
          </li>
        ))}
      </ul>
    </div>
  );
}

function Figures({ figures }: Pick<ProofAspect, 'figures'>): ReactNode {
  const told = Object.entries(figures).filter(([, figure]) => Number.isFinite(figure));
  if (told.length === 0) return null;
  return (
    <details className="small">
      <summary>{told.length === 1 ? '1 figure' : `${told.length} figures`}</summary>
      <table className="list">
        <tbody>
          {told.map(([name, figure]) => (
            <tr key={name}>
              <td>{wordsOfKey(name)}</td>
              <td className="right">{valueWords(figure)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}

/** "bitsOfNext" is written "bits of next". */
const wordsOfKey = (key: string): string =>
  key.replace(/([a-z0-9])([A-Z])/g, (_, before: string, letter: string) => `${before} ${letter.toLowerCase()}`);

/** So many are kept of one item. */
const MOMENTS_MOST = 20;
const NO_MOMENTS: readonly number[] = [];

interface MomentsProps {
  readonly moments: readonly number[];
  readonly lead: string;
  /** Those that the keys go through. */
  readonly keys?: boolean;
}

function Moments({ moments, lead, keys }: MomentsProps): ReactNode {
  const cursorS = useView((view) => view.cursorS);
  const sorted = [...new Set(moments)].sort((a, b) => a - b);
  if (sorted.length === 0) return null;
  return (
    <>
      <p className="small dim proof-moments-lead">
        {lead}{' '}
        {keys && (
          <>
            <kbd>J</kbd> <kbd>K</kbd>
          </>
        )}
      </p>
      <ul className="proof-moments">
        {sorted.map((moment) => (
          <li key={moment}>
            <button
              type="button"
              className="button plain"
              aria-pressed={cursorS !== null && Math.abs(cursorS - moment) < 1e-3}
              onClick={() => jumpTo(moment)}
            >
              {clock(moment)}
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}
