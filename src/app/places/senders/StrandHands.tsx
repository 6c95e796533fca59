/** What may be done with the strand that is held: see its payload, move it, name its sender. Keys are shown, and work everywhere in the place. */
import { useMemo, type ReactNode } from 'react';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { ToPayload } from '../../shell/ToPayload.tsx';
import { useView } from '../../stores/view.ts';
import type { Strand } from '../../../timing/loom/model.ts';
import { moveIdentifier } from '../../stores/senders.ts';
import { useHeldStrand, type HeldLoom } from './held.ts';
import { useSenders } from './store.ts';

export const canMove = (strand: Strand | null): boolean => strand !== null && strand.frame.direction === 'received';
export const canRename = (strand: Strand | null): boolean => strand !== null && strand.group !== null;

/** Moves are seen at once: whoever looks at timing alone is brought back to what was decided. */
export function openDialog(dialog: 'move' | 'rename'): void {
  useSenders.getState().set({ dialog, shows: 'hand' });
}

export function StrandHands({ held }: { held: HeldLoom }): ReactNode {
  const strand = useHeldStrand(held);
  if (!strand) return null;
  const { survey } = held;
  return (
    <>
      <p className="line-of senders-hands">
        <ToPayload />
        <button type="button" className="button" disabled={!canMove(strand)} onClick={() => openDialog('move')}>
          Move to… <kbd>G</kbd>
        </button>
        <span className="narrow-only">
          <button type="button" className="button" disabled={!canRename(strand)} onClick={() => openDialog('rename')}>
            Rename group
          </button>
        </span>
      </p>
      {strand.frame.byHand && survey && (
        <p className="small senders-by-hand">
          <span className="inferred">{strand.frame.groupWhy.split(':')[0]}.</span>{' '}
          <button
            type="button"
            className="button plain"
            onClick={() => moveIdentifier(strand.frame, strand.shownId, 'timing', survey)}
          >
            Leave it to timing
          </button>
        </p>
      )}
    </>
  );
}

export function useSenderKeys(held: HeldLoom): void {
  const strand = useHeldStrand(held);
  const group = useMemo<KeyGroup>(
    () => ({
      title: 'Senders',
      bindings: [
        {
          key: 'Enter',
          says: 'see the payload of the strand held',
          run: () => strand && useView.getState().go('payloads'),
        },
        { key: 'g', says: 'move the strand to another sender', run: () => canMove(strand) && openDialog('move') },
        { key: 'r', says: 'name the sender of the strand', run: () => canRename(strand) && openDialog('rename') },
        {
          key: 't',
          says: 'by timing alone, or with moves by hand',
          run: () =>
            held.moves > 0 &&
            useSenders.getState().set({ shows: useSenders.getState().shows === 'hand' ? 'timing' : 'hand' }),
        },
      ],
    }),
    [strand, held.moves],
  );
  useKeys(group);
}
