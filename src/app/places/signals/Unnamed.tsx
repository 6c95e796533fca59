/** What might be named next: who answers each action most directly and has no name yet, in the order of Payloads. */
import { useMemo, type ReactNode } from 'react';
import { fieldAt } from '../../pictures/bands-model.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { placementKey, type PlacedField } from '../../pictures/bands-words.ts';
import { inTurns, linkKey, respondersOf, type ResponderRow } from '../../pictures/responders-model.ts';
import { useFields, useLinks } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import type { MapSignal } from '../../../map/schema.ts';
import { findingsFor } from '../payloads/held.ts';
import { nameIn } from '../payloads/RespondersPanel.tsx';
import { seeField } from '../payloads/see-field.ts';
import { streamOf } from './held-signal.ts';
import { namingOf, roleOf } from './meaning-of.ts';
import type { MeaningReport } from '../../../draft/meaning.ts';
import { useMeaning } from '../../stores/asking-meaning.ts';

export interface Suggestion {
  readonly key: string;
  readonly action: string;
  readonly row: ResponderRow;
  readonly field: MapSignal;
}

const PER_ACTION = 2;
const SHOWN = 10;

export function useSuggestions(): readonly Suggestion[] {
  const links = useLinks().value;
  const fields = useFields().value;
  const dossier = useDossier((state) => state.dossier);
  return useMemo(() => {
    const nameOf = nameIn(dossier);
    const seen = new Set<string>();
    const lists = (links?.actions ?? []).map((action) =>
      respondersOf(action, nameOf)
        .filter((row) => !row.named && !seen.has(linkKey(row.link)))
        .slice(0, PER_ACTION)
        .map((row) => {
          seen.add(linkKey(row.link));
          const findings = findingsFor(fields, streamOf(row.link));
          const key = placementKey(row.link, row.link.when);
          const found = findings?.fields.find((field) => placementKey(field, field.when) === key);
          return {
            key: linkKey(row.link),
            action: action.action,
            row,
            field: found ?? { ...fieldAt(row.link), when: row.link.when },
          };
        }),
    );
    return inTurns(lists);
  }, [links, fields, dossier]);
}

export function Unnamed({
  suggestions,
  name,
}: {
  suggestions: readonly Suggestion[];
  name: (suggestion: Suggestion) => void;
}): ReactNode {
  const meaning = useMeaning(suggestions.length > 0).value;
  if (suggestions.length === 0) return null;
  const hasBuses = new Set(suggestions.map(({ row }) => row.link.bus)).size > 1;
  return (
    <section className="signals-unnamed">
      <h3>
        Not named yet <small>who answers each action most directly; Payloads lists them all</small>
      </h3>
      <table className="list signals-unnamed-rows">
        <thead>
          <tr>
            <th>field</th>
            <th>answers</th>
            <th>may be</th>
            <th className="right">effect</th>
            <th className="right">q</th>
            <th>
              <span className="unseen">to do</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {suggestions.slice(0, SHOWN).map((suggestion) => (
            <tr key={suggestion.key}>
              <td>
                <button
                  type="button"
                  className="button plain mono"
                  onClick={() => seeField(suggestion.row.link)}
                  aria-label={`See ${suggestion.row.id} ${placeWords(suggestion.field)}${hasBuses ? ` on ${suggestion.row.link.bus}` : ''} in Payloads`}
                >
                  {suggestion.row.id} {placeWords(suggestion.field)}
                  {hasBuses && <small className="dim"> {suggestion.row.link.bus}</small>}
                </button>
              </td>
              <td className="inferred">{suggestion.action}</td>
              <td className="inferred signals-role">{mayBe(meaning, placeOf(suggestion))}</td>
              <td className="right" title={suggestion.row.moves}>
                {suggestion.row.effect}
              </td>
              <td className="right">{suggestion.row.q}</td>
              <td className="right">
                <button type="button" className="button" onClick={() => name(suggestion)}>
                  Name it
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** The likeliest meaning, else the part that it plays. */
const mayBe = (report: MeaningReport | null, place: PlacedField): string =>
  namingOf(report, place)?.candidates[0]?.meaning ?? roleOf(report, place)?.role ?? '';

const placeOf = ({ row: { link }, field }: Suggestion): PlacedField => ({
  ...field,
  bus: link.bus,
  id: link.id,
  extended: link.extended,
});
