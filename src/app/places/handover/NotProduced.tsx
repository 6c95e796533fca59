/** What no controller can produce, before anything else: tags with a secret, pairing. The module that sends it stays in use, with its key. */
import type { ReactNode } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { useHandoverOptions } from './options.ts';
import { useMade } from './making/use-made.ts';

export function NotProduced({ map }: { map: SignalMap }): ReactNode {
  const { handover } = useMade(map, useHandoverOptions());
  const found = handover?.plan.cannotBeProduced ?? [];
  if (found.length === 0) return null;
  return (
    <section className="handover-not-produced" aria-label="Cannot be produced">
      <h3>
        Cannot be produced <small>keep the module, and its key</small>
      </h3>
      <ul>
        {found.map(({ says }) => (
          <li key={says}>{says}</li>
        ))}
      </ul>
    </section>
  );
}
