/** Physical laws that the held signal takes part in, with what each leaves open: evidence of what it is, found without units. */
import { useMemo, type ReactNode } from 'react';
import type { CheckName, CrossCheck } from '../../../draft/cross-checks/types.ts';
import { displayId } from '../../../kit/units.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { isSameField } from '../../pictures/bands-words.ts';
import { shareWords } from '../../pictures/responders-model.ts';
import { useMeaning } from '../../stores/asking-meaning.ts';
import { useDossier } from '../../stores/dossier.ts';
import { count, percent } from '../../../kit/sheet-figures.ts';
import { nameIn } from '../payloads/RespondersPanel.tsx';
import { seeField } from '../payloads/see-field.ts';
import type { SignalRow } from './held-signal.ts';

const LAWS: Readonly<Record<CheckName, string>> = {
  'alike-speeds': 'The same speed several times, apart only in curves',
  'constant-ratio': 'Two speeds with a constant ratio',
  'power-balance': 'A current goes with torque × speed',
  'charge-sum': 'A level goes with the sum of a current over time',
  'cell-sum': 'Alike values add up to a total',
};

/** More members than this are counted. */
const MEMBERS_SHOWN = 5;

export function ChecksPart({ row }: { row: SignalRow }): ReactNode {
  const report = useMeaning(true).value;
  const own = useMemo(
    () =>
      (report?.checks.checks ?? []).filter(({ members }) =>
        members.some(({ place }) => isSameField(place, { ...row.frame, ...row.signal })),
      ),
    [report, row],
  );
  if (own.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>Laws it takes part in</h3>
      {own.map((check, index) => (
        <Check key={`${check.check} ${index}`} check={check} row={row} />
      ))}
    </section>
  );
}

function Check({ check, row }: { check: CrossCheck; row: SignalRow }): ReactNode {
  const dossier = useDossier((state) => state.dossier);
  const nameOf = nameIn(dossier);
  const { members, residual, n, q } = check;
  return (
    <div className="signals-law">
      <p>
        <i>{LAWS[check.check]}</i>
      </p>
      <p className="small dim">
        {percent(residual, residual < 0.1 ? 1 : 0)} left open over {count(n)} instants, q {shareWords(q)}
      </p>
      <ul className="small">
        {members.slice(0, MEMBERS_SHOWN).map(({ part, place }) => {
          const isHeld = isSameField(place, { ...row.frame, ...row.signal });
          const words = nameOf(place) ?? `${displayId(Number(place.id), place.extended)} ${placeWords(place)}`;
          return (
            <li key={`${place.bus} ${place.id} ${place.field}`}>
              <span className="dim">{part}</span>
              {isHeld ? (
                <b>{words}</b>
              ) : (
                <button type="button" className="button plain mono" onClick={() => seeField(place)}>
                  {words}
                </button>
              )}
            </li>
          );
        })}
        {members.length > MEMBERS_SHOWN && <li className="dim">and {members.length - MEMBERS_SHOWN} more</li>}
      </ul>
    </div>
  );
}
