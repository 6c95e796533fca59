/** Three level ink threads through four upright ones: the sign of the workbench. */
import type { ReactNode } from 'react';

export const Logo = (): ReactNode => (
  <svg width="24" height="24" viewBox="0 0 24 24" aria-hidden="true">
    <g fill="none" strokeWidth="1.5">
      <path stroke="var(--ink)" d="M1 6h7M12 6h11M1 12h11M16 12h7M1 18h3M8 18h15" />
      <path stroke="var(--accent)" d="M6 2v3M6 13v9M10 2v9M10 19v3M14 2v3M14 13v9M18 2v9" />
    </g>
  </svg>
);
