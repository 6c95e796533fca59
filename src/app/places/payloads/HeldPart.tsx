/** All that is said of the field held, where the label beside the weave had no room for it; its pages, to choose one. */
import type { ReactNode } from 'react';
import { confidencePercent } from '../../../kit/figures.ts';
import { isGuard, type Band } from '../../pictures/bands-model.ts';
import { estimateLines, labelShape, NAME_LINE, REASON_LINE } from '../../pictures/bands-layout.ts';
import { shapesOf } from '../../pictures/bands-shapes.ts';
import type { When } from '../../../map/schema.ts';
import { whenWords } from '../../pictures/bands-words.ts';
import type { WeaveLayout } from '../../pictures/weave-layout.ts';
import { LABEL_WIDTH } from './FieldsPanel.tsx';
import { holdBand, type Held } from './held.ts';

/** Whether the label beside the weave has room for the whole reason. */
function saysAll(band: Band, layout: WeaveLayout): boolean {
  const { top, bottom } = shapesOf(band, layout);
  const { block, height } = labelShape(bottom - top, band.why, LABEL_WIDTH);
  return block && NAME_LINE + estimateLines(band.why, LABEL_WIDTH) * REASON_LINE <= height;
}

/** The heading names the one selector that tells the pages; where there are several, each is named. */
function pageWords(when: When): string {
  const [values, ...more] = Object.values(when ?? {});
  return values && more.length === 0 ? `page ${values.join(', ')}` : whenWords(when);
}

/** All that is said of the field held: a line beside the weave may have had no room for it. */
export function HeldPart({ held, layout, aligned }: { held: Held; layout: WeaveLayout; aligned: boolean }): ReactNode {
  const { band } = held;
  if (!band) return null;
  if (aligned && band.pages.length === 0 && !band.when && saysAll(band, layout)) return null;
  const pages = band.pages.length ? band.pages : held.bands.find((other) => other.pages.includes(band))?.pages;
  return (
    <section className="panel-part payloads-held">
      <h3>
        {band.name || band.words} <small>{band.name ? band.words : ''}</small>
      </h3>
      <p className="inferred dim small">{band.why}</p>
      {band.value && !band.named && !band.byHand && band.value.confidence > 0 && (
        <p className="dim small">
          Right in {isGuard(band) ? 'place and rule' : 'span and order'} with a confidence of{' '}
          {confidencePercent(band.value.confidence)}.
        </p>
      )}
      {pages && (
        <ul className="payloads-pages">
          {pages.map((page) => (
            <li key={page.key}>
              <button
                type="button"
                className="button plain"
                aria-pressed={page.key === band.key}
                onClick={() => holdBand(page)}
              >
                {page.name}
              </button>{' '}
              <span className="dim small">
                {pageWords(page.when)}: {page.words}
              </span>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
