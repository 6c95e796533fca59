/** Naming a sender: the name goes with the group's letter into every place, the map and the handover. Empty takes it back. */
import { useState, type FormEvent, type ReactNode } from 'react';
import { Dialog } from '../../shell/Dialog.tsx';
import { renameSender } from '../../stores/senders.ts';

export function RenameDialog({
  group,
  name,
  onClose,
}: {
  group: string;
  name: string;
  onClose: () => void;
}): ReactNode {
  const [typed, setTyped] = useState(name);
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    renameSender(group, typed);
    onClose();
  };
  return (
    <Dialog title={`Name sender ${group}`} onClose={onClose}>
      <form onSubmit={submit} className="senders-form">
        <label className="labelled">
          name of the module
          <input
            className="field"
            autoFocus
            maxLength={60}
            value={typed}
            placeholder="inverter, battery, gateway"
            onChange={(event) => setTyped(event.target.value)}
            onFocus={(event) => event.target.select()}
          />
        </label>
        <p className="small dim">The letter stays. An empty name takes it back.</p>
        <div className="line-of">
          <button type="submit" className="button go">
            Keep it <kbd>Enter</kbd>
          </button>
          <button type="button" className="button" onClick={onClose}>
            Cancel <kbd>Esc</kbd>
          </button>
        </div>
      </form>
    </Dialog>
  );
}
