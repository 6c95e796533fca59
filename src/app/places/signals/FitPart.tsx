/** The held signal against what is known: formula with its errors, the line, readings typed at the cursor, files, other candidates. */
import { useMemo, type ReactNode } from 'react';
import { parseReference } from '../../../reference/reference-file.ts';
import type { Evidence } from '../../../map/schema.ts';
import { describeProblem } from '../../../kit/outcome.ts';
import { displayId } from '../../../kit/units.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { pickFiles } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { groupColor } from '../../../kit/drawing/palette.ts';
import { usePalette } from '../../theme/palette.ts';
import { clock, plural, value as valueWords } from '../../../kit/sheet-figures.ts';
import { FindingState, useGroupOf } from '../payloads/RespondersPanel.tsx';
import { seeField } from '../payloads/see-field.ts';
import type { FitState } from './fit-state.ts';
import { closerFit, formulaWords, r2Words, type FormulaWords } from './fit-words.ts';
import { bentAs, isTaken, keptLine, type KeptLine } from './kept-line.ts';
import type { SignalRow } from './held-signal.ts';
import { rescaled, withEvidence } from './naming.ts';
import { ReadingsClock } from './ReadingsClock.tsx';
import { addReferenceFile, isSeries, referenceKey } from './references.ts';
import { scatterScene } from './residual-scene.ts';
import { edit } from './SignalEditor.tsx';
import { useSignals } from './store.ts';
import { TypedReadings } from './TypedReadings.tsx';

const SCATTER_HEIGHT = 190;

/** Files of readings into the open capture; what is wrong with one is said with its line. */
export async function importReference(): Promise<void> {
  const capture = useView.getState().captureId;
  const [file] = await pickFiles('.csv,.txt,text/csv', false);
  if (!file || !capture) return;
  const parsed = parseReference(await file.text(), file.name);
  if (!parsed.ok) return say(parsed.problems.slice(0, 3).map(describeProblem).join(' '));
  const names = parsed.value.series.map(({ name }) => name).join(', ');
  useDossier.getState().change(`import ${file.name}`, (dossier) => addReferenceFile(dossier, capture, parsed.value));
  useSignals.getState().set({ quantity: null });
  say(`${file.name}: ${plural(parsed.value.series.length, 'quantity', 'quantities')} read (${names}).`);
}

/** Notes the fit as evidence and leaves scale and unit: a motor's speed may be supported by the road's. */
export function noteFit(row: SignalRow, state: FitState): void {
  const evidence = fitEvidence(state);
  if (evidence) edit(row, `note fit of ${row.signal.name}`, (signal) => withEvidence(signal, evidence));
}

function fitEvidence({ line, chosen }: FitState): Evidence | null {
  if (!line || !chosen) return null;
  const capture = useView.getState().captureId;
  const { scale, scaleSe, offset, offsetSe, r2, n, lagS } = line;
  const known = Object.fromEntries(
    Object.entries({ scaleSe, offsetSe, r2, lagS }).filter(([, figure]) => Number.isFinite(figure)),
  );
  const { name: quantity, unit, from } = chosen;
  return { kind: 'fit', ...(capture ? { capture } : {}), quantity, unit, from, scale, offset, n, ...known };
}

/** Takes the line as the signal's scale and offset, in its own unit where it has one, and notes what it rests on. */
export function takeFit(row: SignalRow, state: FitState, simple: boolean): void {
  const evidence = fitEvidence(state);
  const kept = keptLine(row.signal, state);
  if (!kept || !evidence) return;
  const { line, unit, table } = kept;
  const isRound = simple && line.simpleScale !== null;
  const scale = isRound ? line.simpleScale : line.scale;
  const offset = isRound ? line.simpleOffset : line.offset;
  edit(row, `fit ${row.signal.name}`, (signal) =>
    withEvidence({ ...(table ? bentAs(signal, table) : rescaled(signal, scale, offset)), unit }, evidence),
  );
}

const FROM_WORDS = { file: '', typed: ', typed', diagnostics: ', answered' } as const;

export function FitPart({ row, state }: { row: SignalRow; state: FitState }): ReactNode {
  const { line, chosen, references, report } = state;
  const { signal } = row;
  const closer = line ? closerFit(line.r2, state.others) : null;
  const kept = keptLine(signal, state);
  const words = kept ? formulaWords({ ...kept.line, unit: kept.unit }) : null;
  const taken = kept && isTaken(signal, kept);
  const round = kept?.line.simpleScale ?? null;
  const noted = signal.evidence.some(({ kind, quantity }) => kind === 'fit' && quantity === chosen?.name);
  return (
    <section className="panel-part">
      <div className="line-of">
        <h3>Fit</h3>
        {references.length > 0 && (
          <select
            className="field"
            aria-label="Fit against"
            value={chosen ? referenceKey(chosen) : ''}
            onChange={(event) => useSignals.getState().set({ quantity: event.target.value || null })}
          >
            {!chosen && <option value="">choose what it may be</option>}
            {references.map((reference) => (
              <option key={referenceKey(reference)} value={referenceKey(reference)}>
                {reference.name} {reference.unit && `[${reference.unit}]`}
                {FROM_WORDS[reference.from]}
              </option>
            ))}
          </select>
        )}
        <button type="button" className="button" onClick={() => void importReference()}>
          Import <kbd>I</kbd>
        </button>
      </div>
      {references.some(isSeries) && <FindingState finding={report} />}
      {words && kept && chosen && (
        <>
          <FormulaLine kept={kept} chosen={chosen} words={words} />
          {closer && (
            <p className="small signals-caution">
              <span className="mono">{displayId(Number(closer.id), closer.extended)}</span> {placeWords(closer)} follows
              it far more closely ({r2Words(closer)}): this signal may only go along with it.
            </p>
          )}
          <Scatter row={row} state={state} />
          <p className="line-of">
            <button
              type="button"
              className={closer ? 'button' : 'button go'}
              disabled={Boolean(taken)}
              onClick={() => takeFit(row, state, false)}
            >
              {taken ? 'In use' : 'Use this fit'} {!taken && <kbd>U</kbd>}
            </button>
            {!noted && (
              <button type="button" className="button" onClick={() => noteFit(row, state)}>
                Note as evidence <kbd>E</kbd>
              </button>
            )}
            {round !== null &&
              round !== signal.scale &&
              Math.abs(round - kept.line.scale) > 1e-6 * Math.abs(kept.line.scale) && (
                <button type="button" className="button" onClick={() => takeFit(row, state, true)}>
                  Use round scale {valueWords(round)}
                </button>
              )}
          </p>
        </>
      )}
      {chosen && isSeries(chosen) && !line && report.value && <p className="small dim">{fitsNot(state)}</p>}
      {references.length === 0 && (
        <p className="small dim">
          Nothing to fit against yet. Import a file with the header <span className="mono">time,NAME [UNIT]</span>, or
          type what a meter said at the cursor.
        </p>
      )}
      <ReadingsClock state={state} />
      <TypedReadings row={row} state={state} />
    </section>
  );
}

interface FormulaProps {
  readonly kept: KeptLine;
  readonly chosen: NonNullable<FitState['chosen']>;
  readonly words: FormulaWords;
}

function FormulaLine({ kept: { unit, table }, chosen, words }: FormulaProps): ReactNode {
  return (
    <>
      {table ? (
        <p className="signals-formula">
          {chosen.name}: a curve through <b>{table.length}</b> points, {words.unit}
        </p>
      ) : (
        <p className="signals-formula">
          {chosen.name} = <b>{words.scale}</b> × raw <b>{words.offset}</b> {words.unit}
        </p>
      )}
      <p className="dim small">
        {table ? 'It only rises or only falls, and no line does as well' : words.trust}
        {unit !== chosen.unit && chosen.unit && `; read in ${chosen.unit}, converted`}
      </p>
    </>
  );
}

function fitsNot({ chosen, report }: FitState): string {
  const quantity = report.value?.quantities.find(({ name }) => name === chosen?.name);
  return quantity?.words || `This signal does not fit ${chosen?.name ?? 'it'} better than chance would.`;
}

function Scatter({ row, state }: { row: SignalRow; state: FitState }): ReactNode {
  const palette = usePalette();
  const group = useGroupOf(row.stream);
  const color = group ? groupColor(palette, group) : (palette.groups['A'] ?? palette.ink2);
  const { residuals, line, chosen } = state;
  const scene = useMemo(
    () =>
      line && residuals.length > 0
        ? scatterScene({
            residuals,
            line,
            color,
            typed: chosen?.from === 'typed',
            unit: [chosen?.unit, chosen?.name].filter(Boolean).join(', '),
          })
        : () => undefined,
    [residuals, line, color, chosen],
  );
  const table = (
    <table>
      <caption>Readings and what the fit leaves over</caption>
      <tbody>
        {residuals.slice(0, 60).map(({ atS, raw, reference, left }) => (
          <tr key={atS}>
            <td>{clock(atS)}</td>
            <td>raw {valueWords(raw)}</td>
            <td>{valueWords(reference)}</td>
            <td>left over {valueWords(left)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
  if (residuals.length === 0) return null;
  return <Picture label="Readings against raw values" height={SCATTER_HEIGHT} scene={scene} table={table} />;
}

const CANDIDATES_SHOWN = 5;

/** Other fields that fit the chosen quantity: one might be the better carrier of it. */
export function OtherCandidates({ state }: { state: FitState }): ReactNode {
  const { others } = state;
  if (others.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>Other candidates</h3>
      <table className="list">
        <tbody>
          {others.slice(0, CANDIDATES_SHOWN).map((fit) => (
            <tr key={`${fit.bus} ${fit.id} ${placeWords(fit)} ${JSON.stringify(fit.when)}`}>
              <td>
                <button
                  type="button"
                  className="button plain mono"
                  onClick={() => {
                    useView.getState().select({ signal: null });
                    seeField(fit);
                  }}
                >
                  {displayId(Number(fit.id), fit.extended)} {placeWords(fit)}
                </button>
              </td>
              <td>{fit.order}</td>
              <td className="right">{r2Words(fit)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
