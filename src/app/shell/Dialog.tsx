/** A dialog on the sheet: the browser's own, so that focus stays in it, Esc leaves it, and the page behind is inert. */
import { useEffect, useId, useRef, type ReactNode } from 'react';

export interface DialogProps {
  readonly title: string;
  readonly onClose: () => void;
  readonly wide?: boolean;
  readonly children: ReactNode;
}

export function Dialog({ title, onClose, wide, children }: DialogProps): ReactNode {
  const dialog = useRef<HTMLDialogElement>(null);
  const heading = useId();
  useEffect(() => {
    const element = dialog.current;
    element?.showModal();
    return () => element?.close();
  }, []);
  return (
    <dialog
      ref={dialog}
      aria-labelledby={heading}
      className={wide ? 'wide' : undefined}
      onClose={onClose}
      onClick={(event) => event.target === dialog.current && onClose()}
    >
      <h2 id={heading}>{title}</h2>
      {children}
    </dialog>
  );
}
