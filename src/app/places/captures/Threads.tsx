/** The survey as threads: one an identifier, in order of appearance, thick where it moves. A list that arrows move in; Enter opens the payload. */
import { useMemo, type ReactNode } from 'react';
import { streamName } from '../../../frames/table.ts';
import type { OverviewPicture } from '../../../jobs/engine-types.ts';
import { displayId } from '../../../kit/units.ts';
import type { Survey, SurveyFrame } from '../../../timing/types.ts';
import { growingScene, THREAD_PITCH, THREAD_PITCH_NARROW, threadsScene, type Thread } from '../../pictures/overview.ts';
import { useNarrow } from '../../shell/use-narrow.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useSurvey } from '../../stores/asking.ts';
import { useCurrentCapture, useReadyEngine, type Finding } from '../../stores/finding.ts';
import { useQuestion } from '../../stores/questions.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { count } from '../../../kit/sheet-figures.ts';
import { keyOf } from './survey-words.ts';
import { SurveyTable } from './SurveyTables.tsx';
import { ThreadList } from './ThreadList.tsx';

export function Threads(): ReactNode {
  const reading = useCurrentCapture()?.open.phase === 'reading';
  return (
    <>
      <Row label={<span className="tiny dimmer">survey</span>}>
        <span className="tiny dimmer survey-words">
          one thread an identifier, in order of appearance; thick where it moves
        </span>
      </Row>
      {reading ? <GrowingThreads /> : <SurveyThreads />}
    </>
  );
}

function GrowingThreads(): ReactNode {
  const open = useCurrentCapture()?.open;
  const window = useView((view) => view.window);
  const pitch = useNarrow() ? THREAD_PITCH_NARROW : THREAD_PITCH;
  const { progress, steps } = open ?? { progress: null, steps: [] };
  const scene = useMemo(
    () => (progress ? growingScene(progress, steps, window, pitch) : () => undefined),
    [progress, steps, window, pitch],
  );
  if (!progress) return null;
  return (
    <Row
      className="threads-row"
      label={
        <ul className="thread-list" aria-label="Identifiers so far">
          {progress.streams.map((stream) => (
            <li key={streamName(stream)} className="thread-name">
              <span className="mono">{displayId(stream.id, stream.extended)}</span>
              <span className="dim tiny">{count(stream.count)}</span>
            </li>
          ))}
        </ul>
      }
    >
      <Picture
        label="Identifiers as they are read"
        height={Math.max(60, progress.streams.length * pitch)}
        scene={scene}
      />
    </Row>
  );
}

const inOrder = (survey: Survey): readonly SurveyFrame[] => [...survey.frames].sort((a, b) => a.firstS - b.firstS);

function SurveyThreads(): ReactNode {
  const ready = useReadyEngine();
  const survey = useSurvey();
  const pitch = useNarrow() ? THREAD_PITCH_NARROW : THREAD_PITCH;
  const window = useView((view) => view.window);
  const timeWidth = useView((view) => view.timeWidth);
  const selection = useView((view) => view.selection);
  const columns = Math.max(1, Math.floor(timeWidth / 3));
  const key = ready && timeWidth ? `${ready.identity}/threads/${window.fromS}/${window.toS}/${columns}` : null;
  const picture = useQuestion<OverviewPicture>(key, () =>
    (ready as NonNullable<typeof ready>).engine.overview({ ...window, columns }),
  ).value;
  const frames = useMemo(() => (survey.value ? inOrder(survey.value) : []), [survey.value]);
  const threads = useMemo(() => frames.map((frame) => toThread(frame, picture)), [frames, picture]);
  const scene = useMemo(() => threadsScene(threads, picture, window, pitch), [threads, picture, window, pitch]);
  const selected = selection.stream ? streamName(selection.stream) : null;
  if (!frames.length) return <NoSurvey finding={survey} />;
  return (
    <Row
      className="threads-row"
      label={
        <ThreadList
          frames={frames}
          selected={selected}
          several={(survey.value?.buses.length ?? 0) > 1}
          timed={survey.value?.capture.clock.kind !== 'none'}
        />
      }
    >
      <Picture
        label="How much each identifier moves over time"
        height={frames.length * pitch}
        scene={scene}
        table={<SurveyTable frames={frames} />}
      />
    </Row>
  );
}

function NoSurvey({ finding }: { finding: Finding<Survey> }): ReactNode {
  const failed = finding.slot?.state === 'failed';
  return (
    <p className="past-gutter small dim" role="status">
      {failed ? `The survey broke off: ${finding.slot?.note ?? ''}. ` : 'measuring periods, jitter and silences'}
      {failed && (
        <button type="button" className="button" onClick={finding.again}>
          Try again
        </button>
      )}
    </p>
  );
}

function toThread(frame: SurveyFrame, picture: OverviewPicture | null): Thread {
  const name = streamName(keyOf(frame));
  const row = picture ? picture.streams.findIndex((stream) => streamName(stream) === name) : -1;
  return { firstS: frame.firstS, lastS: frame.lastS, row };
}
