/** Where else dropped files may go than into a capture: what a place offers while it stands. */
import { useEffect } from 'react';
import { create } from 'zustand';

export interface DropTarget {
  readonly title: string;
  /** What becomes of them. */
  readonly says: string;
  take(files: readonly File[]): void;
}

export const useDropTargets = create<{ readonly targets: readonly DropTarget[] }>(() => ({ targets: [] }));

/** Keep `target` stable (useMemo). */
export function useDropTarget(target: DropTarget): void {
  useEffect(() => {
    useDropTargets.setState(({ targets }) => ({ targets: [...targets, target] }));
    return () => useDropTargets.setState(({ targets }) => ({ targets: targets.filter((other) => other !== target) }));
  }, [target]);
}
