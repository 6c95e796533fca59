/** One frame: its identifier, a verdict a kind of item, and its thread, cut where it failed. */
import { useMemo, type ReactNode } from 'react';
import { threadScene } from '../../pictures/proof-scene.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { groupColor, groupStyle } from '../../../kit/drawing/palette.ts';
import { usePalette } from '../../theme/palette.ts';
import { VerdictGlyph } from './Glyphs.tsx';
import { holdFrame } from './held.ts';
import { failedMoments, givenName, kindWords, VERDICT_WORDS, type FrameRow } from './rows.ts';

const HEIGHT = 28;
const NO_MOMENTS: readonly number[] = [];

/** "fails; there holds, length holds, counter fails" for those who cannot see the shapes. */
export const cellsWords = ({ frame, cells }: FrameRow, kinds: readonly string[]): string => {
  const told = kinds.flatMap((kind, at) => {
    const cell = cells[at];
    return cell ? [`${kindWords(kind)} ${VERDICT_WORDS[cell]}`] : [];
  });
  return `${VERDICT_WORDS[frame.verdict]}; ${told.join(', ')}`;
};

export interface FrameLineProps {
  readonly row: FrameRow;
  readonly id: string;
  readonly kinds: readonly string[];
  readonly columns: readonly ActionColumn[];
  readonly held: boolean;
  readonly open: boolean;
  /** By Tab. */
  readonly reachable: boolean;
}

export function FrameLine({ row, id, kinds, columns, held, open, reachable }: FrameLineProps): ReactNode {
  const palette = usePalette();
  const window = useView((view) => view.window);
  const failed = useMemo(() => failedMoments(row), [row]);
  const name = givenName(row);
  const isMissing = row.frame.items.length === 1 && row.frame.verdict !== 'holds';
  const words = isMissing ? (row.frame.items[0]?.detail ?? '') : (name ?? '');
  const scene = useMemo(
    () =>
      threadScene({
        window,
        columns,
        color: groupColor(palette, row.group),
        width: 1.75,
        thread: isMissing ? 'missing' : 'solid',
        failed,
        strayed: NO_MOMENTS,
        words,
        inferred: !isMissing,
      }),
    [window, columns, palette, row.group, isMissing, failed, words],
  );
  return (
    <Row
      className={`proof-line ${held ? 'held-line' : ''}`}
      label={
        <button
          type="button"
          id={id}
          className="proof-label"
          aria-expanded={open}
          tabIndex={held || reachable ? 0 : -1}
          onClick={() => holdFrame(row, !open)}
        >
          <i className="hue" style={{ background: groupStyle(row.group, 'var(--rule-key)') }} />
          <span className={row.frame.extended ? 'mono long' : 'mono'} title={row.shownId}>
            {row.frame.extended ? row.shownId.replace('0x', '') : row.shownId}
          </span>
          <span className="unseen">
            {row.frame.bus}
            {name ? `, ${name}` : ''}: {cellsWords(row, kinds)}
          </span>
          <span className="proof-cells" aria-hidden="true">
            {row.cells.map((cell, at) => (
              <VerdictGlyph key={kinds[at]} verdict={cell} />
            ))}
          </span>
        </button>
      }
    >
      <Picture label="" height={HEIGHT} scene={scene} />
    </Row>
  );
}
