/** The head of the picture: marks of the action in question at full strength and numbered, the others lower and fainter. */
import { useMemo, type ReactNode } from 'react';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { xOf } from '../../pictures/weave-scene.ts';
import { Picture } from '../../surface/Picture.tsx';
import type { Scene } from '../../../kit/drawing/surface.ts';
import { useView } from '../../stores/view.ts';
import { clock } from '../../../kit/sheet-figures.ts';
import type { ActionsShown } from './actions-shown.ts';
import { HEAD_HEIGHT } from './layout.ts';

const TALL = 26;
const LOW = 12;
const LABEL_LEAST = 16;

interface HeadMark extends ActionColumn {
  readonly number: number | null;
  readonly words: string;
}

/** Marks drawn at the head; numbers stand where there is room for one. */
export function headScene(window: { fromS: number; toS: number }, marks: readonly HeadMark[]): Scene {
  return (surface, palette) => {
    const foot = surface.height - 2;
    for (const mark of [...marks].sort((a, b) => Number(a.number !== null) - Number(b.number !== null))) {
      const height = mark.number === null ? LOW : TALL;
      const left = xOf(window, surface.width, mark.startS);
      const right = mark.endS === null ? left : xOf(window, surface.width, mark.endS);
      if (right < -8 || left > surface.width + 8) continue;
      const ink = palette.hatches[mark.action % 6] ?? palette.ink3;
      if (mark.endS === null) {
        surface.line(left, foot - height, left, foot, { color: ink, width: 2 });
        surface.area([left - 5, foot - height, left + 5, foot - height, left, foot - height + 7], { color: ink });
      } else {
        const from = Math.max(left, -20);
        surface.hatch(from, foot - height, Math.min(right, surface.width + 20) - from, height, mark.action, 0.9);
      }
      if (mark.number === null) continue;
      const middle = mark.endS === null ? left + 10 : (Math.max(0, left) + Math.min(surface.width, right)) / 2;
      if (mark.endS === null || right - left >= LABEL_LEAST)
        surface.text(middle, foot - height + 13, mark.words || String(mark.number), {
          color: palette.ink,
          weight: 600,
          align: 'middle',
          halo: palette.ground,
        });
    }
  };
}

export function ActionHead({ shown }: { shown: ActionsShown }): ReactNode {
  const window = useView((view) => view.window);
  const scene = useMemo(() => {
    const own = shown.marks.map((mark, index) => ({ mark, index }));
    const marks = shown.heads.map((column): HeadMark => {
      const found = own.find(({ mark }) => mark.startS === column.startS && mark.endS === column.endS);
      return { ...column, number: found ? found.index + 1 : null, words: found?.mark.value ?? '' };
    });
    return headScene(window, marks);
  }, [window, shown]);
  const table = (
    <table>
      <caption>Marks of {shown.action ?? 'no action'}</caption>
      <tbody>
        {shown.marks.map((mark) => (
          <tr key={mark.key}>
            <td>{clock(mark.startS)}</td>
            <td>{mark.endS === null ? 'an instant' : clock(mark.endS)}</td>
            <td>{mark.value ?? ''}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
  return <Picture label="Marks in view" height={HEAD_HEIGHT} scene={scene} table={table} />;
}

/** In the gutter: the action in question, and how many others throw columns. */
export function ActionNames({ shown }: { shown: ActionsShown }): ReactNode {
  const others = shown.actions.filter((action) => action !== shown.action);
  return (
    <div className="payloads-actions">
      <b>{shown.action ?? <span className="dim inferred">no marks</span>}</b>
      {others.length > 0 && (
        <span className="dim">{others.length === 1 ? others[0] : `and ${others.length} more`}</span>
      )}
    </div>
  );
}
