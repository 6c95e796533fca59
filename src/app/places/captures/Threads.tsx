/** The survey as threads: one an identifier, in order of appearance, thick where it moves. A list that arrows move in; Enter opens the payload. */
import { useMemo, useRef, type KeyboardEvent, type ReactNode } from 'react';
import type { StreamKey } from '../../../frames/table.ts';
import { streamName } from '../../../frames/table.ts';
import type { OverviewPicture } from '../../../jobs/engine-types.ts';
import { displayId } from '../../../kit/units.ts';
import type { Survey, SurveyFrame } from '../../../timing/types.ts';
import { growingScene, THREAD_PITCH, THREAD_PITCH_NARROW, threadsScene, type Thread } from '../../pictures/overview.ts';
import { useNarrow } from '../../shell/use-narrow.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useCurrentCapture, useReadyEngine, useSurvey, type Finding } from '../../stores/asking.ts';
import { useQuestion } from '../../stores/questions.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { count, percent, period } from '../../words/format.ts';

export function Threads(): ReactNode {
  const reading = useCurrentCapture()?.open.phase === 'reading';
  return (
    <>
      <Row label={<span className="tiny dimmer">survey</span>}>
        <span className="tiny dimmer">one thread an identifier, in order of appearance; thick where it moves</span>
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

const keyOf = (frame: SurveyFrame): StreamKey => ({
  bus: frame.bus,
  id: Number(frame.id),
  extended: frame.extended,
  direction: frame.direction,
});
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
      label={<ThreadList frames={frames} selected={selected} several={(survey.value?.buses.length ?? 0) > 1} />}
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

interface ThreadListProps {
  readonly frames: readonly SurveyFrame[];
  readonly selected: string | null;
  /** Several buses: the bus stands before the identifier. */
  readonly several: boolean;
}

function ThreadList({ frames, selected, several }: ThreadListProps): ReactNode {
  const list = useRef<HTMLUListElement>(null);
  const names = frames.map((frame) => streamName(keyOf(frame)));
  const at = selected ? names.indexOf(selected) : -1;
  const choose = (index: number): void => {
    const frame = frames[index];
    if (!frame) return;
    useView.getState().select({ stream: keyOf(frame), placement: null });
    list.current?.children[index]?.scrollIntoView({ block: 'nearest' });
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    const moves: Record<string, number> = {
      ArrowUp: Math.max(0, at - 1),
      ArrowDown: Math.min(frames.length - 1, at + 1),
      Home: 0,
      End: frames.length - 1,
    };
    const to = moves[event.key];
    if (to !== undefined) choose(to);
    else if (event.key === 'Enter' && at >= 0) useView.getState().go('payloads');
    else return;
    event.preventDefault();
  };
  return (
    <ul
      ref={list}
      className="thread-list"
      role="listbox"
      tabIndex={0}
      aria-label="Identifiers; Enter opens the payload"
      aria-activedescendant={at >= 0 ? `thread-${at}` : undefined}
      onKeyDown={onKeyDown}
    >
      {frames.map((frame, index) => (
        <li
          key={names[index]}
          id={`thread-${index}`}
          role="option"
          aria-selected={index === at}
          className={`thread-name ${index === at ? 'selected' : ''}`}
          onClick={() => choose(index)}
          onDoubleClick={() => useView.getState().go('payloads')}
        >
          {several && <span className="thread-bus">{frame.bus}</span>}
          <span className="mono">{displayId(Number(frame.id), frame.extended)}</span>
          {frame.direction === 'sent' && (
            <span className="tiny dimmer" title="the logger itself sent it">
              sent
            </span>
          )}
          <span className="spring" />
          <span className="dim tiny">{timingWords(frame)}</span>
        </li>
      ))}
    </ul>
  );
}

export function timingWords({ timing }: SurveyFrame): string {
  if (timing.kind === 'periodic' || timing.kind === 'mixed') return period(timing.periodMs);
  return { 'on-change': 'on change', reply: 'reply', once: 'once' }[timing.kind];
}

function SurveyTable({ frames }: { frames: readonly SurveyFrame[] }): ReactNode {
  return (
    <table>
      <caption>Survey of the capture</caption>
      <thead>
        <tr>
          <th>bus</th>
          <th>identifier</th>
          <th>frames</th>
          <th>bytes</th>
          <th>timing</th>
          <th>jitter</th>
          <th>first, s</th>
          <th>last, s</th>
          <th>gaps</th>
        </tr>
      </thead>
      <tbody>
        {frames.map((frame) => (
          <tr key={streamName(keyOf(frame))}>
            <td>{frame.bus}</td>
            <td>
              {displayId(Number(frame.id), frame.extended)}
              {frame.direction === 'sent' ? ', sent by the logger' : ''}
            </td>
            <td>{count(frame.count)}</td>
            <td>{frame.length}</td>
            <td>{timingWords(frame)}</td>
            <td>{frame.timing.jitterMs === null ? '' : `${frame.timing.jitterMs.toFixed(2)} ms`}</td>
            <td>{frame.firstS.toFixed(3)}</td>
            <td>{frame.lastS.toFixed(3)}</td>
            <td>{frame.gaps.length}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What the selected identifier is, in a few figures, for the panel. */
export function ThreadFacts({ frame }: { frame: SurveyFrame }): ReactNode {
  const lengths = frame.lengths.map(({ length, count: n }) => `${length} (${percent(n / frame.count)})`).join(', ');
  return (
    <table className="list">
      <tbody>
        <tr>
          <td className="dim">frames</td>
          <td className="right">{count(frame.count)}</td>
        </tr>
        <tr>
          <td className="dim">timing</td>
          <td className="right">
            {timingWords(frame)}
            {frame.timing.jitterMs === null ? '' : `, jitter ${frame.timing.jitterMs.toFixed(2)} ms`}
          </td>
        </tr>
        <tr>
          <td className="dim">bytes</td>
          <td className="right">
            {frame.lengths.length > 1 ? lengths : frame.length}
            {frame.fd ? ', CAN FD' : ''}
          </td>
        </tr>
        <tr>
          <td className="dim">different payloads</td>
          <td className="right">
            {frame.distinctPayloads >= 65_536 ? '65,536 or more' : count(frame.distinctPayloads)}
          </td>
        </tr>
        <tr>
          <td className="dim">silences</td>
          <td className="right">{frame.gaps.length || 'none'}</td>
        </tr>
      </tbody>
    </table>
  );
}
