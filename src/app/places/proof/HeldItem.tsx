/** The held item in words: how much of it agreed, each of its aspects with its figures, and the moments to go to. */
import type { ReactNode } from 'react';
import type { ProofAspect, ProofItem } from '../../../proof/hold/types.ts';
import { useView } from '../../stores/view.ts';
import { clock, count, percent, value as valueWords } from '../../words/format.ts';
import { capital } from '../../words/sentence.ts';
import { seeInPayloads } from './actions.ts';
import { VerdictGlyph } from './Glyphs.tsx';
import { jumpTo } from './held.ts';
import { itemWords, VERDICT_WORDS, type FrameRow, type ItemRow } from './rows.ts';

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
      {item.rate !== null && (
        <p className="small">
          <b className="figure">{percent(item.rate, item.rate > 0.99 && item.rate < 1 ? 2 : 0)}</b>{' '}
          <span className="dim">of {count(item.n)} agreed</span>
        </p>
      )}
      {item.aspects && item.aspects.length > 0 ? (
        item.aspects.map((aspect) => <Aspect key={aspect.aspect} aspect={aspect} />)
      ) : (
        <p className="small">{capital(item.detail)}.</p>
      )}
      <Moments item={item} />
    </section>
  );
}

const ASPECT_WORDS: Readonly<Record<string, string>> = {
  place: 'Where it lies, how it is coded',
  values: 'Its range and states',
  scale: 'Its scale',
};

function Aspect({ aspect }: { aspect: ProofAspect }): ReactNode {
  const figures = Object.entries(aspect.figures).filter(([, figure]) => Number.isFinite(figure));
  return (
    <div className="proof-aspect">
      <p>
        <VerdictGlyph verdict={aspect.verdict} />{' '}
        <b>{ASPECT_WORDS[aspect.aspect] ?? capital(aspect.aspect.replaceAll('-', ' '))}</b>{' '}
        <span className="dim small">{VERDICT_WORDS[aspect.verdict]}</span>
      </p>
      <p className="small">{capital(aspect.detail)}.</p>
      {figures.length > 0 && (
        <details className="small">
          <summary>{figures.length === 1 ? '1 figure' : `${figures.length} figures`}</summary>
          <table className="list">
            <tbody>
              {figures.map(([name, figure]) => (
                <tr key={name}>
                  <td>{wordsOfKey(name)}</td>
                  <td className="right">{valueWords(figure)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </details>
      )}
    </div>
  );
}

/** "bitsOfNext" is written "bits of next". */
const wordsOfKey = (key: string): string =>
  key.replace(/([a-z0-9])([A-Z])/g, (_, before: string, letter: string) => `${before} ${letter.toLowerCase()}`);

function Moments({ item }: { item: ProofItem }): ReactNode {
  const cursorS = useView((view) => view.cursorS);
  const moments = [...new Set(item.moments)].sort((a, b) => a - b);
  if (moments.length === 0) return null;
  return (
    <>
      <p className="small dim proof-moments-lead">
        {item.verdict === 'fails' ? 'Where it failed' : 'Where it did not agree'}
        {item.moments.length >= 20 ? ', the first of them' : ''} <kbd>J</kbd> <kbd>K</kbd>
      </p>
      <ul className="proof-moments">
        {moments.map((moment) => (
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
      <button type="button" className="button" onClick={seeInPayloads}>
        See it in Payloads <kbd>P</kbd>
      </button>
    </>
  );
}
