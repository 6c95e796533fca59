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
  /** Through every picture. */
  readonly columns: readonly ActionColumn[];
  /** At the head, all of them. */
  readonly heads: readonly ActionColumn[];
}

const HELD_ALPHA = 0.36;
const OTHER_ALPHA = 0.2;

/** What was done most often is what can be answered best. */
function mostMarked(actions: readonly string[], marks: readonly DossierMark[]): string | null {
  const times = (action: string): number => marks.filter((mark) => mark.action === action).length;
  return actions.reduce<string | null>(
    (most, action) => (most === null || times(action) > times(most) ? action : most),
    null,
  );
}

/** Hatches of more actions than this would hide what they stand behind: then only the one in question goes through. */
const THROUGH_MOST = 2;

export function useActionsShown(): ActionsShown {
  const { marks, actions } = useRulerMarks();
  const chosen = usePayloads((state) => state.action);
  return useMemo(() => {
    const marked = actions.filter((action) => marks.some((mark) => mark.action === action));
    const action = chosen !== null && marked.includes(chosen) ? chosen : mostMarked(marked, marks);
    const heads = marks
      .map((mark) => ({
        startS: mark.startS,
        endS: mark.endS,
        action: actions.indexOf(mark.action),
        alpha: mark.action === action ? HELD_ALPHA : OTHER_ALPHA,
      }))
      .sort((a, b) => a.alpha - b.alpha);
    const columns = marked.length <= THROUGH_MOST ? heads : heads.filter(({ alpha }) => alpha === HELD_ALPHA);
    return { actions: marked, action, marks: marks.filter((mark) => mark.action === action), columns, heads };
  }, [marks, actions, chosen]);
}
