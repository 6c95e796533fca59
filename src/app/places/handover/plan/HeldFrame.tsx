/** The frame that is held: the reasons to believe that the part needs it, and what there is to send. */
import type { ReactNode } from 'react';
import type { NeedReason, PlannedFrame } from '../../../../handover/needs/types.ts';
import { displayId } from '../../../../kit/units.ts';
import { period, plural, value } from '../../../../kit/sheet-figures.ts';
import { placeWords } from '../../../../fields/place-words.ts';
import { checksumWords, counterWords } from '../../../pictures/bands-words.ts';
import { capital } from '../../../words/sentence.ts';
import { GroupTag } from '../../../shell/GroupTag.tsx';
import { useHandover } from '../store.ts';
import { NEED_WORDS, NeedGlyph } from './NeedGlyph.tsx';

const KIND_WORDS: Readonly<Record<NeedReason['kind'], string>> = {
  bench: 'on the bench',
  absence: 'by absence',
  'lost-communication-code': 'by a fault code',
  order: 'by order',
  network: 'by the network',
  'by-hand': 'by hand',
};

export function HeldFrame({ planned }: { planned: PlannedFrame }): ReactNode {
  const { frame, need, reasons } = planned;
  return (
    <section className="plan-held" aria-live="polite" aria-label="The frame that is held" tabIndex={0}>
      <h3>
        {frame.sender && <GroupTag group={frame.sender.group} />}{' '}
        <span className="mono">{displayId(Number(frame.id), frame.extended)}</span> {frame.name}
        <small>
          {frame.bus}, <NeedGlyph need={need} /> {NEED_WORDS[need]}
        </small>
        <button
          type="button"
          className="button plain plan-close"
          onClick={() => useHandover.getState().set({ frame: null })}
        >
          Close <kbd>Esc</kbd>
        </button>
      </h3>
      {reasons.length === 0 ? (
        <p className="small dim">
          Nothing speaks for a need of it, and nothing against: only a bench trial would tell.
        </p>
      ) : (
        <ul className="plan-reasons">
          {reasons.map(({ kind, words, speaksFor, capture }) => (
            <li key={`${kind} ${words}`}>
              <span className="dim">{KIND_WORDS[kind]}</span>
              <span className="inferred">
                {capital(words)}
                {speaksFor === 'not-needed' && <span className="dim"> Speaks against a need.</span>}
                {capture && <span className="dim"> ({capture})</span>}
              </span>
            </li>
          ))}
        </ul>
      )}
      <Facts planned={planned} />
    </section>
  );
}

function wakingWords(first: PlannedFrame['firstAfterWakeMs'], order: number | null): string {
  if (first === null) return 'no waking seen';
  const [mid, low, high] = [value(first.midMs), value(first.lowMs), value(first.highMs)];
  const span = low === high ? '' : ` (${low} to ${high})`;
  const place = order === null ? '' : `, number ${order} on its bus`;
  return `${mid} ms${span}, ${plural(first.n, 'waking')}${place}`;
}

function Facts({ planned }: { planned: PlannedFrame }): ReactNode {
  const { frame, periodMs, phaseMs, phaseWhy, firstAfterWakeMs: first, order, whyNotProduced, mayCommand } = planned;
  const rows: readonly (readonly [string, ReactNode])[] = [
    ['every', periodMs === null ? frame.timing.kind.replace('-', ' ') : period(periodMs)],
    [
      'phase',
      phaseMs === null
        ? `unknown${phaseWhy ? `: ${phaseWhy}` : ''}`
        : `${value(phaseMs)} ms, against its sender's others`,
    ],
    ['after waking', wakingWords(first, order)],
    ['at rest', frame.rest ? <span className="mono">{frame.rest.payload}</span> : 'no payload recorded'],
    ...frame.counters.map((one) => ['counter', `${placeWords(one)} ${counterWords(one)}`] as const),
    ...frame.checksums.map((one) => ['checksum', `${placeWords(one)} ${checksumWords(one)}`] as const),
    ['produced', whyNotProduced ? `no: ${whyNotProduced}` : 'yes, from the payload at rest'],
    ['may command', mayCommand.length > 0 ? mayCommand.join(', ') : 'nothing known; not shown harmless'],
  ];
  return (
    <dl className="plan-facts small">
      {rows.map(([name, words], at) => (
        <div key={`${name} ${at}`}>
          <dt className="dim">{name}</dt>
          <dd>{words}</dd>
        </div>
      ))}
    </dl>
  );
}
