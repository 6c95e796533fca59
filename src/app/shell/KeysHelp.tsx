/** What each key does, here and everywhere: the list under "?". */
import type { ReactNode } from 'react';
import { Dialog } from './Dialog.tsx';
import { printKey, useKeyGroups } from './keys.ts';

export function KeysHelp({ onClose }: { onClose: () => void }): ReactNode {
  const groups = useKeyGroups();
  return (
    <Dialog title="Keys" onClose={onClose} wide>
      <div style={{ columns: '230px 2', columnGap: 32 }}>
        {groups.map(({ title, bindings }) => {
          const listed = bindings.filter(({ says }) => says);
          if (!listed.length) return null;
          return (
            <table key={title} className="list" style={{ breakInside: 'avoid', marginBottom: 16 }}>
              <caption>{title}</caption>
              <tbody>
                {listed.map(({ key, says }) => (
                  <tr key={key}>
                    <td style={{ width: 96 }}>
                      <kbd>{printKey(key)}</kbd>
                    </td>
                    <td>{says}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          );
        })}
      </div>
      <p className="small dim">Pictures can be reached with Tab; arrows move in them, Enter opens, Esc leaves.</p>
      <p style={{ marginTop: 12 }}>
        <button type="button" className="button" onClick={onClose}>
          Close <kbd>Esc</kbd>
        </button>
      </p>
    </Dialog>
  );
}
