/** What the generated encoder does not send, and why. */
import type { Context } from '../context.ts';
import { mono, type Section } from '../document.ts';

export function leftOutSection({ leftOut }: Context): Section {
  return {
    id: 'left-out',
    title: 'Not in the encoder',
    blocks: [
      {
        kind: 'table',
        head: ['frame or signal', { name: 'why', wide: true }],
        rows: leftOut.map(({ name, why }) => [[mono(name)], why]),
        otherwise: 'Nothing was left out.',
      },
    ],
  };
}
