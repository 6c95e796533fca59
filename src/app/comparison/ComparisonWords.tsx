/** The panel side of two captures compared: the senders, why the held identifier is where it is, wakings, error frames, cautions. */
import type { ReactNode } from 'react';
import { confidencePercent } from '../../kit/figures.ts';
import type { ComparisonProfile } from '../../proof/compare/profile-types.ts';
import type { AppearanceChange, Comparison } from '../../proof/compare/types.ts';
import { useDossier } from '../stores/dossier.ts';
import { ToPayload } from '../shell/ToPayload.tsx';
import { useView } from '../stores/view.ts';
import { fixed, signed } from '../../kit/sheet-figures.ts';
import { sentence } from '../words/sentence.ts';
import { useComparison } from './asking.ts';
import './comparison.css';
import { fatesOf, nextLook, partNamed, shownId } from './fates.ts';
import { Fates } from './Fates.tsx';
import type { streamOf } from './ComparisonView.tsx';
import { presenceWords, sectionsOf, type ComparedRow } from './rows.ts';
import { appearanceWords, errorWords, waitingWords } from './words.ts';

export function ComparisonWords(): ReactNode {
  const asked = useComparison();
  const { comparison, sides } = asked;
  const [a, b] = [asked.a.profile, asked.b.profile];
  const role = useDossier(({ dossier }) => dossier.captures.find(({ id }) => id === sides.b?.captureId)?.role) ?? '';
  if (!comparison || !a || !b)
    return (
      <section className="panel-part">
        <h3>Compared</h3>
        <p className="small dim">
          {sides.a && sides.b ? waitingWords(asked) : 'Choose two captures, or two spans of one.'}
        </p>
      </section>
    );
  return (
    <>
      <HeldPart comparison={comparison} a={a} b={b} />
      <SendersPart comparison={comparison} a={a} role={role} />
      <AppearancePart comparison={comparison} />
      <ErrorsPart comparison={comparison} />
      <CautionsPart comparison={comparison} />
    </>
  );
}

interface PartProps {
  readonly comparison: Comparison;
}
interface HeldProps extends PartProps {
  readonly a: ComparisonProfile;
  readonly b: ComparisonProfile;
}

/** Groups of the first capture as its timing has them. */
function groupsOf({ identifiers }: ComparisonProfile): Parameters<typeof fatesOf>[0] {
  const letters = [...new Set(identifiers.flatMap(({ group }) => (group === null ? [] : [group])))].sort();
  return letters.map((group) => ({
    group,
    members: identifiers
      .filter((identifier) => identifier.group === group)
      .map(({ bus, id, extended, groupConfidence }) => ({ bus, id, extended, confidence: groupConfidence ?? 0 })),
  }));
}

function SendersPart({ comparison, a, role }: PartProps & { a: ComparisonProfile; role: string }): ReactNode {
  const fates = fatesOf(groupsOf(a), a.identifiers, comparison.absent);
  const look = nextLook(comparison.absent.reacts, partNamed(role));
  if (comparison.absent.sentBy.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>Sender by sender</h3>
      <Fates fates={fates} onHold={(stream) => useView.getState().select({ stream })} />
      {look && <p className="inferred dim">{look}</p>}
    </section>
  );
}

const sameFrame = (row: ComparedRow, stream: ReturnType<typeof streamOf>): boolean =>
  row.frame.bus === stream.bus && Number(row.frame.id) === stream.id && row.frame.extended === stream.extended;

function HeldPart({ comparison, a, b }: HeldProps): ReactNode {
  const stream = useView((view) => view.selection.stream);
  if (!stream) return null;
  const section = sectionsOf(comparison, a, b).find(({ rows }) => rows.some((row) => sameFrame(row, stream)));
  const row = section?.rows.find((each) => sameFrame(each, stream));
  if (!section || !row) return null;
  return (
    <section className="panel-part">
      <h3>
        <span className="mono">{row.shownId}</span> <small>{row.frame.bus}</small>
      </h3>
      <p>
        {section.title.toLowerCase()}
        {row.words ? `: ${row.words}` : ''}
      </p>
      {row.why && <p className="inferred dim cmp-why">{sentence(row.why)}</p>}
      <table className="list">
        <tbody>
          <tr>
            <td className="dim">in the first</td>
            <td className="right">{presenceWords(row.a, a.startS)}</td>
          </tr>
          <tr>
            <td className="dim">in the second</td>
            <td className="right">{presenceWords(row.b, b.startS)}</td>
          </tr>
          {row.confidence !== null && (
            <tr>
              <td className="dim">confidence</td>
              <td className="right">{confidencePercent(row.confidence)}</td>
            </tr>
          )}
        </tbody>
      </table>
      <p style={{ marginTop: 8 }}>
        <ToPayload />
      </p>
    </section>
  );
}

const SHOWN = 8;

function AppearancePart({ comparison: { appearance } }: PartProps): ReactNode {
  return (
    <section className="panel-part">
      <h3>After a waking</h3>
      <p className="small dim">{sentence(appearanceWords(appearance))}</p>
      {appearance.changed.length > 0 && (
        <table className="list">
          <thead>
            <tr>
              <th>identifier</th>
              <th className="right">first</th>
              <th className="right">second</th>
              <th className="right">shifts by</th>
            </tr>
          </thead>
          <tbody>
            {appearance.changed.slice(0, SHOWN).map((change) => (
              <AppearanceRow key={`${change.bus}${change.id}`} change={change} />
            ))}
          </tbody>
        </table>
      )}
      {appearance.changed.length > SHOWN && <p className="small dim">and {appearance.changed.length - SHOWN} more</p>}
    </section>
  );
}

function AppearanceRow({ change }: { change: AppearanceChange }): ReactNode {
  const s = (ms: number): string => `${fixed(ms / 1000, 2)} s`;
  return (
    <tr>
      <td className="mono">{shownId(change)}</td>
      <td className="right">{s(change.delayMsA)}</td>
      <td className="right">{s(change.delayMsB)}</td>
      <td className="right">
        {signed(change.laterMs / 1000, 2)} ± {fixed(change.laterSeMs / 1000, 2)} s
      </td>
    </tr>
  );
}

function ErrorsPart({ comparison: { errors } }: PartProps): ReactNode {
  return (
    <section className="panel-part">
      <h3>Error frames</h3>
      {errors.length === 0 ? (
        <p className="small dim">none in either capture</p>
      ) : (
        errors.map((each) => (
          <p key={each.bus} className="small">
            {errorWords(each)}
          </p>
        ))
      )}
    </section>
  );
}

function CautionsPart({ comparison: { warnings } }: PartProps): ReactNode {
  if (warnings.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>How far they can be compared</h3>
      {warnings.map(({ code, message, advice }) => (
        <p key={code} className="small">
          {sentence(message)} <span className="dim">{advice}</span>
        </p>
      ))}
    </section>
  );
}
