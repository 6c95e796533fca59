/** How far a signal is trusted, told by shape: guess a dashed ring, supported an open triangle with a dot, proven a solid triangle on a bar. */
import type { ReactNode } from 'react';
import type { Standing } from '../../../map/schema.ts';

const TRIANGLE = 'M8 2.6L13.4 12H2.6Z';

export function StandingGlyph({ standing }: { standing: Standing }): ReactNode {
  const color = `var(--standing-${standing})`;
  return (
    <svg className="signals-standing" width="16" height="18" viewBox="0 0 16 18" aria-hidden="true">
      {standing === 'guess' && (
        <circle cx="8" cy="8.5" r="4.6" fill="none" stroke={color} strokeWidth="1.4" strokeDasharray="2.4 1.7" />
      )}
      {standing === 'supported' && (
        <>
          <path d={TRIANGLE} fill="none" stroke={color} strokeWidth="1.4" strokeLinejoin="round" />
          <circle cx="8" cy="8.9" r="1.2" fill={color} />
        </>
      )}
      {standing === 'proven' && (
        <>
          <path d={TRIANGLE} fill={color} stroke={color} strokeWidth="1.4" strokeLinejoin="round" />
          <line x1="1.6" x2="14.4" y1="15.2" y2="15.2" stroke={color} strokeWidth="1.6" />
        </>
      )}
    </svg>
  );
}

const STANDINGS: readonly { readonly standing: Standing; readonly means: string }[] = [
  { standing: 'guess', means: 'it fits, and could be chance' },
  { standing: 'supported', means: 'two kinds of evidence agree' },
  { standing: 'proven', means: 'held on a capture it never saw' },
];

export function StandingLegend(): ReactNode {
  return (
    <section className="panel-part">
      <h3>How far each is trusted</h3>
      <dl className="signals-legend">
        {STANDINGS.map(({ standing, means }) => (
          <div key={standing}>
            <dt className={standing === 'guess' ? 'inferred' : standing === 'proven' ? 'strong' : ''}>
              <StandingGlyph standing={standing} /> {standing}
            </dt>
            <dd className="dim">{means}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
