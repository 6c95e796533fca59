/** What a recording leaves open about an action, in a few words beside it: it cannot be told from another, or nobody surely answers. */
import { isTold } from '../../../actions/separation.ts';
import { CLAIM_Q } from '../../../actions/claims.ts';
import type { ActionLinks, Together } from '../../../actions/types.ts';

export interface Untold {
  readonly action: string;
  /** Beside the action: "not told from “brake pressed”", "no sure answer"; empty where all is told. */
  readonly short: string;
  readonly together: readonly Together[];
  readonly isAnswered: boolean;
}

export function untoldOf({ action, links, together = [] }: ActionLinks): Untold {
  const open = together.filter((each) => !isTold(each));
  const isAnswered = links.some(({ q }) => q <= CLAIM_Q);
  const others = [...new Set(open.map((each) => each.action))];
  const short = others.length > 0 ? `not told from “${others[0]}”` : isAnswered ? '' : 'no sure answer';
  const more = others.length > 1 ? ` and ${others.length - 1} more` : '';
  return { action, short: short + (others.length > 0 ? more : ''), together: open, isAnswered };
}
