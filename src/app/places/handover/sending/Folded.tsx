/** Something that can be folded: open at first where that helps, and from then on as the person leaves it. */
import { useState, type ReactNode } from 'react';

export interface FoldedProps {
  readonly startsOpen: boolean;
  readonly className: string;
  readonly summary: ReactNode;
  readonly children: ReactNode;
}

export function Folded({ startsOpen, className, summary, children }: FoldedProps): ReactNode {
  const [isOpen, setOpen] = useState(startsOpen);
  return (
    <details className={className} open={isOpen} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{summary}</summary>
      {children}
    </details>
  );
}
