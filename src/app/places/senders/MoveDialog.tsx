/** Where an identifier goes by hand: to a sender that is there, to a new one, to none, or back to what timing says. */
import { useEffect, useRef, type KeyboardEvent, type ReactNode } from 'react';
import { Dialog } from '../../shell/Dialog.tsx';
import { moveIdentifier, type MoveTo } from '../../stores/senders.ts';
import type { Survey } from '../../../timing/types.ts';
import type { Strand } from '../../../timing/loom/model.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { GroupTag } from '../../shell/GroupTag.tsx';

interface MoveDialogProps {
  readonly strand: Strand;
  readonly survey: Survey;
  readonly onClose: () => void;
}

export function MoveDialog({ strand, survey, onClose }: MoveDialogProps): ReactNode {
  const list = useRef<HTMLDivElement>(null);
  useEffect(() => {
    list.current?.querySelector<HTMLElement>('button:not(:disabled)')?.focus();
  }, []);
  const move = (to: MoveTo): void => {
    moveIdentifier(strand.frame, strand.shownId, to, survey);
    onClose();
  };
  const others = survey.groups;
  const { byHand } = strand.frame;
  return (
    <Dialog title={`Move ${strand.shownId}`} onClose={onClose}>
      <div
        ref={list}
        className="senders-moves"
        onKeyDown={(event) =>
          step(event, list.current, (letter) => others.some(({ group }) => group === letter) && move({ group: letter }))
        }
      >
        {others.map(({ group, name, members }) => (
          <button
            key={group}
            type="button"
            className="button"
            disabled={group === strand.group}
            onClick={() => move({ group })}
          >
            <GroupTag group={group} />
            <span className={name ? '' : 'inferred'}>{name ?? `sender ${group}`}</span>
            <span className="dim small">
              {group === strand.group ? 'it is here' : plural(members.length, 'identifier')}
            </span>
          </button>
        ))}
        <button type="button" className="button" onClick={() => move('new')}>
          <span>a sender of its own, under a new letter</span>
        </button>
        <button type="button" className="button" disabled={strand.group === null} onClick={() => move('none')}>
          <span>no sender: unknown</span>
        </button>
        {byHand && (
          <button type="button" className="button" onClick={() => move('timing')}>
            <span>where timing says: {byHand.timingGroup === null ? 'no sender' : `sender ${byHand.timingGroup}`}</span>
          </button>
        )}
      </div>
      <p className="small dim">
        What is put by hand stays there, whatever timing says later; where timing disagrees, that is shown beside it.
        Arrows or a sender’s letter choose, Enter takes, <kbd>Esc</kbd> leaves it where it is.
      </p>
    </Dialog>
  );
}

/** Arrows from choice to choice; a letter goes straight there. */
function step(event: KeyboardEvent, list: HTMLElement | null, choose: (letter: string) => void): void {
  const buttons = [...(list?.querySelectorAll<HTMLElement>('button:not(:disabled)') ?? [])];
  const at = buttons.indexOf(document.activeElement as HTMLElement);
  const by: Record<string, number> = { ArrowDown: 1, ArrowUp: -1 };
  const move = by[event.key];
  if (move !== undefined) {
    event.preventDefault();
    buttons[(at + move + buttons.length) % buttons.length]?.focus();
  } else if (/^[a-z]$/i.test(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey)
    choose(event.key.toUpperCase());
}
