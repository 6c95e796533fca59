/**
 * The weave with its hands: drag down over threads to sweep, drag sideways to move in time, click to hold what lies
 * there; with the keyboard one stop, in which arrows move from thread to thread and Shift sweeps.
 */
import { useMemo, useRef, type ReactNode } from 'react';
import type { WeavePicture } from '../../../jobs/engine-types.ts';
import { streamName } from '../../../frames/table.ts';
import type { WeaveLayout } from '../../pictures/weave-layout.ts';
import { paintWeave } from '../../pictures/weave-paint.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { weaveScene } from '../../pictures/weave-scene.ts';
import { pack, parseColour, rampOf, type Rgb } from '../../pictures/weave-shade.ts';
import { groupColor, type Palette } from '../../../kit/drawing/palette.ts';
import { usePalette } from '../../theme/palette.ts';
import { Picture } from '../../surface/Picture.tsx';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useView } from '../../stores/view.ts';
import { percent } from '../../../kit/sheet-figures.ts';
import { useWeave } from './asking.ts';
import { type Held } from './held.ts';
import { usePayloads } from './store.ts';
import { useThreadHands } from './thread-hands.ts';
import { threadWords } from './weave-words.ts';
import { WeaveTable } from './WeaveTable.tsx';
import { useGaps } from './TraceRows.tsx';

/** Words on the last folded line hang a little below it. */
const FOLD_FOOT = 4;
const BLACK: Rgb = [0, 0, 0];

/** Without a sender group the weave is drawn in the first hue: one picture, one hue. */
function inksOf(palette: Palette, group: string | null): { hue: Rgb; ground: Rgb; ink: Rgb; night: boolean } {
  const hue = group ? groupColor(palette, group) : (palette.groups['A'] ?? palette.ink2);
  return {
    hue: parseColour(hue) ?? BLACK,
    ground: parseColour(palette.ground) ?? BLACK,
    ink: parseColour(palette.ink) ?? BLACK,
    night: palette.theme === 'night',
  };
}

interface WeaveProps {
  readonly held: Held;
  readonly layout: WeaveLayout;
  readonly columns: readonly ActionColumn[];
  readonly group: string | null;
}

export function WeaveView({ held, layout, columns, group }: WeaveProps): ReactNode {
  const answer = useWeave(held.stream);
  const name = held.stream ? streamName(held.stream) : '';
  const picture = answer.value && streamName(answer.value.stream) === name ? answer.value : null;
  const scene = useWeaveScene(held, layout, columns, group, picture);
  const thread = usePayloads((state) => state.thread);
  const root = useRef<HTMLDivElement>(null);
  const hands = useThreadHands(held, layout, root);
  return (
    <div
      ref={root}
      className="payloads-weave"
      role="application"
      aria-roledescription="weave"
      aria-label={`Weave of ${name}: arrows up and down move from thread to thread, Shift sweeps, Enter holds the field, F makes one`}
      tabIndex={0}
      {...hands}
    >
      <Picture
        label={`Weave of ${name}`}
        height={Math.max(40, layout.height + (layout.folds ? FOLD_FOOT : 0))}
        scene={scene}
        table={picture && <WeaveTable picture={picture} layout={layout} bands={held.bands} />}
      />
      {!picture && !answer.problem && <WaitingWords />}
      {answer.problem && <p className="payloads-problem">The weave could not be drawn: {answer.problem}.</p>}
      <p className="unseen" aria-live="polite">
        {thread >= 0 ? threadWords(thread, layout, held.bands, picture) : ''}
      </p>
    </div>
  );
}

/** While the recording is still being read the axes stand; the threads come when it is there. */
function WaitingWords(): ReactNode {
  const open = useCurrentCapture()?.open;
  const progress = open?.phase === 'reading' ? open.progress : null;
  if (open?.phase === 'ready') return null;
  const share = progress?.bytesTotal ? progress.bytesRead / progress.bytesTotal : 0;
  return (
    <p className="payloads-problem">Reading, {percent(share)}: the threads are drawn when the recording is read.</p>
  );
}

function useWeaveScene(
  held: Held,
  layout: WeaveLayout,
  columns: readonly ActionColumn[],
  group: string | null,
  picture: WeavePicture | null,
): Parameters<typeof Picture>[0]['scene'] {
  const palette = usePalette();
  const shows = usePayloads((state) => state.shows);
  const thread = usePayloads((state) => state.thread);
  const window = useView((view) => view.window);
  const cuts = useGaps(held.stream);
  const painted = useMemo(() => {
    if (!picture) return null;
    const scale = globalThis.devicePixelRatio || 1;
    const rest = pack(parseColour(palette.threadRest) ?? BLACK);
    return {
      picture,
      pixels: paintWeave(picture, layout, cuts, { ramp: rampOf(inksOf(palette, group)), rest, shows, scale }),
    };
  }, [picture, layout, cuts, palette, group, shows]);
  const { placement } = held;
  return useMemo(
    () => weaveScene({ window, layout, painted, columns, held: placement, thread }),
    [window, layout, painted, columns, placement, thread],
  );
}
