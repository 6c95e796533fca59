/**
 * The fields of the identifier. Beside the weave each band stands at its threads, with its label led back to it; on a
 * narrow window they are a plain list with the same shapes. One stop for the keyboard: arrows move, Enter traces.
 */
import { useMemo, useState, type KeyboardEvent, type ReactNode } from 'react';
import type { Band } from '../../pictures/bands-model.ts';
import { BAND_WIDTH, shapesOf, type BandShapes } from '../../pictures/bands-shapes.ts';
import {
  estimateLines,
  foldRuns,
  labelShape,
  NAME_LINE,
  REASON_LINE,
  spreadLabels,
} from '../../pictures/bands-layout.ts';
import { type WeaveLayout } from '../../pictures/weave-layout.ts';
import { movedTo } from '../../shell/list-keys.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { BandShape, MiniShape } from './BandShape.tsx';
import { holdBand, type Held } from './held.ts';

const LABEL_LEFT = 26;
export const LABEL_WIDTH = 286;
const LEADER_MOST = 60;
const NONE: ReadonlySet<string> = new Set();

export function FieldsPanel({
  held,
  layout,
  aligned,
}: {
  held: Held;
  layout: WeaveLayout;
  aligned: boolean;
}): ReactNode {
  const [opened, setOpened] = useState<ReadonlySet<string>>(NONE);
  const { bands } = held;
  const chosen = heldKey(held);
  const index = bands.findIndex((band) => isHeld(band, chosen));
  const onKeyDown = (event: KeyboardEvent): void => {
    const to = movedTo(event.key, index, bands.length);
    const band = to === null ? undefined : bands[to];
    if (!band) return;
    event.preventDefault();
    holdBand(band);
  };
  const list = {
    role: 'listbox',
    tabIndex: 0,
    'aria-label': `Fields, ${plural(bands.length, 'band')}`,
    'aria-activedescendant': index >= 0 ? `band-${index}` : undefined,
    onKeyDown,
  } as const;
  if (!aligned)
    return (
      <div className="payloads-fields-flow" {...list}>
        {bands.map((band, place) => (
          <FlowLabel key={band.key} band={band} place={place} held={isHeld(band, chosen)} />
        ))}
      </div>
    );
  return <AlignedFields held={held} layout={layout} chosen={chosen} list={list} opened={opened} open={setOpened} />;
}

const heldKey = ({ band, tried }: Held): string | null => (tried ? null : (band?.key ?? null));
const isHeld = (band: Band, key: string | null): boolean =>
  key !== null && (band.key === key || band.pages.some((page) => page.key === key));

interface AlignedProps {
  readonly held: Held;
  readonly layout: WeaveLayout;
  readonly chosen: string | null;
  readonly list: React.HTMLAttributes<HTMLDivElement>;
  readonly opened: ReadonlySet<string>;
  readonly open: (keys: ReadonlySet<string>) => void;
}

interface Placed {
  readonly bands: readonly Band[];
  readonly shapes: readonly BandShapes[];
  readonly block: boolean;
  readonly height: number;
  readonly wish: number;
}

/** Labels of one band or of a folded run, each with the height it takes and where it would like to be. */
function labelsOf(bands: readonly Band[], layout: WeaveLayout, opened: ReadonlySet<string>): Placed[] {
  const one = (band: Band): Placed => {
    const shapes = shapesOf(band, layout);
    const oneLine = band.glyph === 'dashed' && estimateLines(`${band.name} ${band.why}`, LABEL_WIDTH) === 1;
    const { block, height } = labelShape(oneLine ? 0 : shapes.bottom - shapes.top, band.why, LABEL_WIDTH);
    return {
      bands: [band],
      shapes: [shapes],
      block,
      height,
      wish: block ? shapes.top : (shapes.top + shapes.bottom) / 2 - height / 2,
    };
  };
  const plain = bands.map(one);
  const total = plain.reduce((sum, { height }) => sum + height, 0);
  if (total <= layout.height) return plain;
  const small = (band: Band): boolean =>
    (band.glyph === 'bar' || band.glyph === 'dashed') && band.signal === null && !opened.has(band.key);
  return foldRuns(bands, small).map((item) => (Array.isArray(item) ? folded(item as Band[], one) : one(item as Band)));
}

function folded(run: readonly Band[], one: (band: Band) => Placed): Placed {
  const parts = run.map(one);
  const top = Math.min(...parts.map(({ shapes }) => shapes[0]?.top ?? 0));
  const bottom = Math.max(...parts.map(({ shapes }) => shapes[0]?.bottom ?? 0));
  return {
    bands: run,
    shapes: parts.flatMap(({ shapes }) => shapes),
    block: false,
    height: 17,
    wish: (top + bottom) / 2 - 8.5,
  };
}

function AlignedFields({ held, layout, chosen, list, opened, open }: AlignedProps): ReactNode {
  const labels = useMemo(
    () => labelsOf(held.bands, layout, chosen ? new Set([...opened, chosen]) : opened),
    [held.bands, layout, opened, chosen],
  );
  const needed = labels.reduce((sum, label) => sum + label.height, 0);
  const height = Math.max(layout.height, needed);
  const tops = useMemo(
    () =>
      spreadLabels(
        labels.map(({ wish, height }) => ({ top: wish, height })),
        height,
      ),
    [labels, height],
  );
  return (
    <div className="payloads-fields" style={{ height }} {...list}>
      <svg className="payloads-bands" width={LABEL_LEFT} height={layout.height} aria-hidden="true">
        {labels.map((label, place) =>
          label.bands.map((band, k) => (
            <g key={band.key} onClick={() => holdBand(band)} className={isHeld(band, chosen) ? 'held' : ''}>
              <BandShape shapes={label.shapes[k] as BandShapes} />
              {!label.block && <Leader shapes={label.shapes[k] as BandShapes} to={(tops[place] as number) + 8.5} />}
            </g>
          )),
        )}
      </svg>
      {labels.map((label, place) => {
        const [band] = label.bands;
        if (!band) return null;
        const style = {
          top: tops[place],
          left: LABEL_LEFT,
          width: LABEL_WIDTH,
          height: label.height,
          '--lines': Math.round((label.height - NAME_LINE) / REASON_LINE),
        } as React.CSSProperties;
        if (label.bands.length > 1)
          return (
            <div key={`fold ${band.key}`} className="payloads-label line" style={style}>
              <span
                role="option"
                aria-selected={false}
                onClick={() => open(new Set(label.bands.map(({ key }) => key)))}
              >
                <b>{foldedWords(label.bands)}</b>{' '}
                <span className="dim">{label.bands.map(({ name, words }) => name || words).join(', ')}</span>
              </span>
            </div>
          );
        return (
          <div
            key={band.key}
            id={`band-${held.bands.indexOf(band)}`}
            role="option"
            aria-selected={isHeld(band, chosen)}
            className={`payloads-label ${label.block ? 'block' : 'line'} ${isHeld(band, chosen) ? 'held-label' : ''}`}
            style={style}
            onClick={() => holdBand(band)}
          >
            <LabelText band={band} />
          </div>
        );
      })}
    </div>
  );
}

const foldedWords = (bands: readonly Band[]): string =>
  bands.every(({ glyph }) => glyph === 'bar') ? plural(bands.length, 'flag') : `${bands.length} more`;

function LabelText({ band }: { band: Band }): ReactNode {
  return (
    <>
      <span className="payloads-label-head">
        {band.name && <b>{band.name}</b>}
        <span className="dim">{band.words}</span>
        {band.byHand && !band.refused && <span className="dim">, by hand</span>}
      </span>{' '}
      <span className="inferred dim payloads-why">{band.why}</span>
    </>
  );
}

function Leader({ shapes, to }: { shapes: BandShapes; to: number }): ReactNode {
  const from = (shapes.top + shapes.bottom) / 2;
  // Led back only as far as a line can be followed.
  if (Math.abs(from - to) > LEADER_MOST) return null;
  return <path className="leader" d={`M${BAND_WIDTH + 2} ${from}L${LABEL_LEFT - 4} ${to}`} />;
}

function FlowLabel({ band, place, held }: { band: Band; place: number; held: boolean }): ReactNode {
  return (
    <div
      id={`band-${place}`}
      role="option"
      aria-selected={held}
      className={`payloads-flow ${held ? 'held-label' : ''}`}
      onClick={() => holdBand(band)}
    >
      <MiniShape band={band} />
      <span>
        <LabelText band={band} />
      </span>
    </div>
  );
}
