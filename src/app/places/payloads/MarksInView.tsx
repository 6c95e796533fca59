/** The head of a picture where no action is in question: all marks alike, low and without numbers. */
import { useMemo, type ReactNode } from 'react';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { headScene } from './ActionHead.tsx';

interface MarksInViewProps {
  readonly heads: readonly ActionColumn[];
  /** Pixels. */
  readonly height: number;
  readonly className?: string;
}

export function MarksInView({ heads, height, className }: MarksInViewProps): ReactNode {
  const window = useView((view) => view.window);
  const scene = useMemo(
    () =>
      headScene(
        window,
        heads.map((column) => ({ ...column, number: null, words: '' })),
      ),
    [window, heads],
  );
  return <Picture label="Marks in view" height={height} scene={scene} {...(className ? { className } : {})} />;
}
