/** Captures, the words: how reading goes, how the files were understood, what was not taken, silences, cautions. */
import { useState, type ReactNode } from 'react';
import { streamName } from '../../../frames/table.ts';
import { displayId } from '../../../kit/units.ts';
import type { Survey } from '../../../timing/types.ts';
import { ComparisonWords } from '../../comparison/ComparisonWords.tsx';
import { useComparisonChoice } from '../../comparison/store.ts';
import { useSurvey } from '../../stores/asking.ts';
import { useCurrentCapture, type CurrentCapture } from '../../stores/finding.ts';
import { ToPayload } from '../../shell/ToPayload.tsx';
import { useView } from '../../stores/view.ts';
import { clock, duration } from '../../../kit/sheet-figures.ts';
import { CapturePart } from './CapturePart.tsx';
import { RecordingCautions } from './Cautions.tsx';
import { ColumnChooser } from './ColumnChooser.tsx';
import { BusesPart, FilePart, RejectedPart } from './FilePart.tsx';
import { ReadingPart } from './ReadingPart.tsx';
import { ThreadFacts } from './SurveyTables.tsx';
import { Walk } from './Walk.tsx';

export function CapturesPanel(): ReactNode {
  const current = useCurrentCapture();
  const survey = useSurvey().value;
  const [choosing, setChoosing] = useState<string | null>(null);
  const compared = useComparisonChoice((state) => state.shown);
  if (!current) return <RecordingCautions />;
  if (compared) return <ComparisonWords />;
  const { open } = current;
  const failed = open.phase === 'failed' ? failedFile(current) : undefined;
  const files = open.summary?.files ?? [];
  return (
    <>
      <ReadingPart current={current} />
      {open.phase !== 'reading' && <CapturePart current={current} survey={survey} />}
      <SelectedPart survey={survey} />
      {files.map((file) => (
        <RejectedPart key={`r-${file.name}`} file={file} />
      ))}
      {failed && choosing !== '' && (
        <ColumnChooser capture={current} file={failed} asked={false} onDone={() => setChoosing('')} />
      )}
      {files.map((file) =>
        choosing === file.name ? (
          <ColumnChooser key={file.name} capture={current} file={file.name} asked onDone={() => setChoosing(null)} />
        ) : (
          <FilePart
            key={file.name}
            file={file}
            onColumns={file.columns === null ? null : () => setChoosing(file.name)}
          />
        ),
      )}
      {open.phase === 'ready' && <BusesPart current={current} />}
      <GapsPart survey={survey} />
      <Walk />
      <RecordingCautions />
    </>
  );
}

/** What has no columns, however they are chosen. */
const WITHOUT_COLUMNS = ['empty-file', 'packed-file'];

/** The file that could not be read, as the problem names it. */
function failedFile({ open }: CurrentCapture): string | undefined {
  if (WITHOUT_COLUMNS.includes(open.problems[0]?.code ?? '')) return undefined;
  const named = open.problems[0]?.place?.file;
  return open.files.find(({ name }) => name === named)?.name ?? open.files[0]?.name;
}

function SelectedPart({ survey }: { survey: Survey | null }): ReactNode {
  const stream = useView((view) => view.selection.stream);
  if (!stream || !survey) return null;
  const name = streamName(stream);
  const frame = survey.frames.find((f) => streamName({ ...f, id: Number(f.id) }) === name);
  if (!frame) return null;
  return (
    <section>
      <h3>
        <span className="mono">{displayId(stream.id, stream.extended)}</span>{' '}
        <small>
          {stream.bus}
          {stream.direction === 'sent' ? ', sent by the logger itself' : ''}
        </small>
      </h3>
      <ThreadFacts frame={frame} />
      <p style={{ marginTop: 8 }}>
        <ToPayload />
      </p>
    </section>
  );
}

function GapsPart({ survey }: { survey: Survey | null }): ReactNode {
  const gaps = survey?.buses.flatMap((bus) => bus.gaps.map((gap) => ({ bus: bus.name, ...gap }))) ?? [];
  if (!gaps.length) return null;
  return (
    <section>
      <h3>
        Silences <small>of a whole bus</small>
      </h3>
      <table className="list" aria-label="Silences">
        <thead>
          <tr>
            <th>bus</th>
            <th className="right">from</th>
            <th className="right">lasts</th>
          </tr>
        </thead>
        <tbody>
          {gaps.slice(0, 12).map((gap) => (
            <tr key={`${gap.bus}${gap.fromS}`}>
              <td>{gap.bus}</td>
              <td className="right">
                <button type="button" className="button plain small" onClick={() => show(gap.fromS)}>
                  {clock(gap.fromS, 1)}
                </button>
              </td>
              <td className="right">{duration(gap.toS - gap.fromS)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {gaps.length > 12 && <p className="small dim">and {gaps.length - 12} more</p>}
    </section>
  );
}

function show(atS: number): void {
  const view = useView.getState();
  view.setCursor(atS);
  view.reveal(atS);
}
