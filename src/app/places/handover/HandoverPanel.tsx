/** The panel of Handover: the cautions that have to be read, and what is left out, and why. */
import { useMemo, type ReactNode } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { useSurvey } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useWide } from '../payloads/layout.ts';
import { leftOutOf, type LeftOut } from './left-out.ts';
import { handoverOf } from './made.ts';
import { inReadingOrder } from './outputs.ts';
import { useHandover, wordsOf } from './store.ts';
import { useMap } from './use-map.ts';

export function HandoverPanel(): ReactNode {
  const { map } = useMap();
  const leftOut = useLeftOut(map);
  const wide = useWide();
  if (!map) return null;
  const { cautions } = handoverOf(map);
  return (
    <div className="handover-panel">
      {wide && <Cautions cautions={cautions} />}
      <section>
        <h3>
          Left out <small>and why</small>
        </h3>
        {leftOut.length === 0 ? (
          <p className="small dim">Nothing: every identifier and every field found is in it.</p>
        ) : (
          <table className="list">
            <tbody>
              {leftOut.map(({ key, name, why, inferred }) => (
                <tr key={key}>
                  <td className="mono">{name}</td>
                  <td className={inferred ? 'inferred' : ''}>{why}</td>
                </tr>
              ))}
            </tbody>
          </table>
        )}
      </section>
    </div>
  );
}

function useLeftOut(map: SignalMap | null): readonly LeftOut[] {
  const survey = useSurvey().value;
  const decisions = useDossier(({ dossier }) => dossier.decisions);
  const output = useHandover((state) => state.output);
  return useMemo(() => {
    if (!map) return [];
    if (output === 'c')
      return handoverOf(map).leftOut.map(({ name, why }) => ({ key: name, name, why, inferred: false }));
    const refused = decisions
      .filter(({ kind }) => kind === 'refused')
      .map(({ id, placement }) => ({ id, place: placeWords(placement) }));
    return leftOutOf({ map, seen: survey?.frames ?? [], refused });
  }, [map, survey, decisions, output]);
}

export function Cautions({ cautions }: { cautions: readonly string[] }): ReactNode {
  const read = useHandover((state) => state.read === wordsOf(cautions));
  const title = useDossier(({ dossier }) => dossier.part.destination || dossier.part.title);
  return (
    <section className="handover-cautions" aria-label="Cautions">
      <div className="stripes" aria-hidden="true" />
      <div className="handover-cautions-inner">
        <h2>This part can move{title ? `: ${title}` : ''}</h2>
        <ol>
          {inReadingOrder(cautions).map((words) => (
            <li key={words}>{words}</li>
          ))}
        </ol>
        <label className="handover-read">
          <input
            type="checkbox"
            checked={read}
            onChange={(event) => useHandover.getState().set({ read: event.target.checked ? wordsOf(cautions) : null })}
          />
          I have read these. They go into every file that can send.
        </label>
      </div>
    </section>
  );
}
