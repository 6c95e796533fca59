/** Which action is in question here, and the columns its marks and the others throw through every picture. */
import { useMemo } from 'react';
import type { Mark } from '../../../actions/types.ts';
import type { DossierMark } from '../../../jobs/dossier.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { useRulerMarks } from '../../stores/asking.ts';
import { usePayloads } from './store.ts';

export interface ActionsShown {
  /** Those that have marks, in track order. */
  readonly actions: readonly string[];
  /** The one in question; null without marks. */
  readonly action: string | null;
  /** Its marks in capture time. */
  readonly marks: readonly (DossierMark & Mark)[];
  readonly columns: readonly ActionColumn[];
}

const HELD_ALPHA = 0.36;
const OTHER_ALPHA = 0.2;

export function useActionsShown(): ActionsShown {
  const { marks, actions } = useRulerMarks();
  const chosen = usePayloads((state) => state.action);
  return useMemo(() => {
    const marked = actions.filter((action) => marks.some((mark) => mark.action === action));
    const action = chosen !== null && marked.includes(chosen) ? chosen : (marked[0] ?? null);
    const columns = marks
      .map((mark) => ({
        startS: mark.startS,
        endS: mark.endS,
        action: actions.indexOf(mark.action),
        alpha: mark.action === action ? HELD_ALPHA : OTHER_ALPHA,
      }))
      .sort((a, b) => a.alpha - b.alpha);
    return { actions: marked, action, marks: marks.filter((mark) => mark.action === action), columns };
  }, [marks, actions, chosen]);
}
