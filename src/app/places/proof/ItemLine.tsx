/** One item of the open frame: verdict, name, and its moments on a thread with what was found in words. */
import { useMemo, type ReactNode } from 'react';
import { threadScene } from '../../pictures/proof-scene.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { groupColor } from '../../../kit/drawing/palette.ts';
import { usePalette } from '../../theme/palette.ts';
import { usePhone } from '../payloads/layout.ts';
import { VerdictGlyph } from './Glyphs.tsx';
import { holdItem } from './held.ts';
import { VERDICT_WORDS, type FrameRow, type ItemRow } from './rows.ts';

const HEIGHT = 26;
const NONE: readonly number[] = [];

export interface ItemLineProps {
  readonly frame: FrameRow;
  readonly row: ItemRow;
  readonly id: string;
  readonly columns: readonly ActionColumn[];
  readonly held: boolean;
}

export function ItemLine({ frame, row, id, columns, held }: ItemLineProps): ReactNode {
  const palette = usePalette();
  const phone = usePhone();
  const window = useView((view) => view.window);
  const { verdict, moments, detail } = row.item;
  const fails = verdict === 'fails';
  const scene = useMemo(
    () =>
      threadScene({
        window,
        columns,
        color: groupColor(palette, frame.group),
        width: 1.25,
        thread: verdict === 'not-exercised' ? 'rest' : 'solid',
        failed: fails ? moments : NONE,
        strayed: fails ? NONE : moments,
        // On a phone the words stand below, at the item that is held; of one that is held the panel has them, and they would cover its flags.
        words: phone || (held && moments.length > 0) ? '' : detail,
        inferred: false,
      }),
    [window, columns, palette, frame.group, verdict, fails, moments, detail, phone, held],
  );
  return (
    <Row
      className={`proof-line proof-item ${held ? 'held-line' : ''}`}
      label={
        <button
          type="button"
          id={id}
          className="proof-label"
          aria-pressed={held}
          tabIndex={held ? 0 : -1}
          onClick={() => holdItem(frame, row)}
        >
          <span className="proof-name" title={row.title}>
            {row.title}
          </span>
          <span className="unseen">
            {VERDICT_WORDS[verdict]}: {detail}
          </span>
          <VerdictGlyph verdict={verdict} />
        </button>
      }
    >
      <Picture label="" height={HEIGHT} scene={scene} />
    </Row>
  );
}
