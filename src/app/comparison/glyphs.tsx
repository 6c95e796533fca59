/** Marks of a thread's fate, told by shape: it ends, it changes its stitch, it goes on, it is in doubt, it begins. Words stand beside each. */
import type { ReactNode } from 'react';

export type ThreadFate = 'silent' | 'copy' | 'reacts' | 'stays' | 'undecided' | 'starts';

const SHAPES: Readonly<Record<ThreadFate, ReactNode>> = {
  silent: (
    <>
      <path d="M0 6h8M8 2v8" />
      <path d="M11 6h7" strokeDasharray="1 2.4" strokeWidth="1" />
    </>
  ),
  copy: (
    <>
      <path d="M0 4h8M0 8h8M8 2v8" strokeWidth="1" />
      <path d="M11 6h7" strokeDasharray="1 2.4" strokeWidth="1" />
    </>
  ),
  reacts: <path d="M0 6h7M7 2v8M10 6h2M14.5 6h3.5" />,
  stays: <path d="M0 6h18" />,
  undecided: (
    <>
      <path d="M0 6h7" />
      <path d="M9 6h9" strokeDasharray="2.4 2" strokeWidth="1" />
    </>
  ),
  starts: (
    <>
      <path d="M0 6h7" strokeDasharray="1 2.4" strokeWidth="1" />
      <path d="M10 6h8M10 2v8" />
    </>
  ),
};

export function FateMark({ fate }: { fate: ThreadFate }): ReactNode {
  return (
    <svg
      className="fate-mark"
      width="18"
      height="12"
      viewBox="0 0 18 12"
      fill="none"
      stroke="var(--ink)"
      strokeWidth="2"
      aria-hidden="true"
    >
      {SHAPES[fate]}
    </svg>
  );
}
