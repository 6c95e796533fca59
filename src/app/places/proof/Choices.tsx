/** The captures that the map can be held against, and why the others cannot be. */
import type { ReactNode } from 'react';
import { Dialog } from '../../shell/Dialog.tsx';
import { useView } from '../../stores/view.ts';
import { closeMap, hold, openMap } from './actions.ts';
import { useChoices } from './asking.ts';
import type { Choice } from './choices.ts';
import { useProof } from './store.ts';

export function Choices(): ReactNode {
  const choices = useChoices();
  const against = useView((view) => view.against);
  return (
    <ul className="proof-choices">
      {choices.map((choice) => (
        <OneChoice key={choice.id} choice={choice} chosen={choice.id === against} />
      ))}
    </ul>
  );
}

function OneChoice({ choice, chosen }: { choice: Choice; chosen: boolean }): ReactNode {
  const { id, title, role, refused, note } = choice;
  const named = (
    <>
      {title} {role && role !== title && <span className="dim small">{role}</span>}
    </>
  );
  return (
    <li>
      {refused === null ? (
        <button type="button" className="button" aria-pressed={chosen} onClick={() => hold(id)}>
          {named}
        </button>
      ) : (
        <span className="proof-refused">{named}</span>
      )}
      {(refused ?? note) && <p className="small dim">{refused ?? note}</p>}
    </li>
  );
}

/** Which map is held, and the way to another. */
export function WhichMap(): ReactNode {
  const opened = useProof((state) => state.opened);
  return (
    <p className="line-of">
      <span className="dim">
        {opened ? (
          <>
            The map is the file <b>{opened.name}</b>.
          </>
        ) : (
          'The map is that of the open capture.'
        )}
      </span>
      {opened ? (
        <button type="button" className="button plain" onClick={closeMap}>
          Back to the open capture’s
        </button>
      ) : (
        <button type="button" className="button plain" onClick={() => void openMap()}>
          Open a map file <kbd>O</kbd>
        </button>
      )}
    </p>
  );
}

export function ChooseDialog(): ReactNode {
  const close = (): void => useProof.getState().set({ choosing: false });
  return (
    <Dialog title="Hold the map against" onClose={close}>
      <WhichMap />
      <Choices />
      <p style={{ marginTop: 12 }}>
        <button type="button" className="button" onClick={close}>
          Close <kbd>Esc</kbd>
        </button>
      </p>
    </Dialog>
  );
}
