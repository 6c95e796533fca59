/** What is left out, and why: of the map, or of the C where that is open. */
import { useMemo, type ReactNode } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { useSurvey } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useHandoverOptions } from './options.ts';
import { leftOutOf, type LeftOut } from './left-out.ts';
import { useMade } from './making/use-made.ts';
import { useHandover } from './store.ts';

/** So many are listed before the rest is folded. */
const LISTED = 8;

export function LeftOutPart({ map }: { map: SignalMap }): ReactNode {
  const leftOut = useLeftOut(map);
  const [first, more] = [leftOut.slice(0, LISTED), leftOut.slice(LISTED)];
  return (
    <section>
      <h3>
        Left out <small>and why</small>
      </h3>
      {leftOut.length === 0 ? (
        <p className="small dim">Nothing: every identifier and every field found is in it.</p>
      ) : (
        <Table rows={first} />
      )}
      {more.length > 0 && (
        <details className="small handover-more">
          <summary>{more.length} more</summary>
          <Table rows={more} />
        </details>
      )}
    </section>
  );
}

const Table = ({ rows }: { rows: readonly LeftOut[] }): ReactNode => (
  <table className="list handover-left-out">
    <thead className="unseen">
      <tr>
        <th>left out</th>
        <th>why</th>
      </tr>
    </thead>
    <tbody>
      {rows.map(({ key, name, why, inferred }) => (
        <tr key={key}>
          <td className="mono">{name}</td>
          <td className={inferred ? 'inferred' : ''}>{why}</td>
        </tr>
      ))}
    </tbody>
  </table>
);

function useLeftOut(map: SignalMap): readonly LeftOut[] {
  const survey = useSurvey().value;
  const decisions = useDossier(({ dossier }) => dossier.decisions);
  const output = useHandover((state) => state.output);
  const { handover } = useMade(map, useHandoverOptions());
  return useMemo(() => {
    if (output === 'c')
      return (handover?.leftOut ?? []).map(({ name, why }) => ({ key: name, name, why, inferred: false }));
    const refused = decisions
      .filter(({ kind }) => kind === 'refused')
      .map(({ id, placement }) => ({ id, place: placeWords(placement) }));
    return leftOutOf({ map, seen: survey?.frames ?? [], refused });
  }, [map, survey, decisions, output, handover]);
}
