/** Which frames go out, and which stay out with the reason; each is released by itself. */
import { useId, useState, type FormEvent, type ReactNode } from 'react';
import type { GoingFrame, KeptOutFrame } from '../../../../handover/sending/choice.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../../../map/schema.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { displayId } from '../../../../kit/units.ts';
import { GroupTag } from '../../../shell/GroupTag.tsx';
import { Folded } from './Folded.tsx';
import { needsItsName, releaseName, type Choosing } from './choosing.ts';

export interface FramesProps {
  readonly map: SignalMap;
  readonly choosing: Choosing;
  /** Why one that is released does not go out all the same, by key. */
  readonly notes?: ReadonlyMap<string, string>;
  readonly release: (name: string) => void;
  /** null: a release stands, as trials were run with it. */
  readonly takeBack: ((frame: MapFrame) => void) | null;
  readonly drop: (name: string) => void;
}

export function Frames({ map, choosing, notes, release, takeBack, drop }: FramesProps): ReactNode {
  const { going, waiting, never, idle } = choosing;
  return (
    <>
      {going.length === 0 ? (
        <p className="small">No frame goes out by itself. Release those that you mean to send, one by one.</p>
      ) : (
        <ul className="sending-frames" aria-label="Frames that go out">
          {going.map((each) => (
            <Going key={frameKey(each.frame)} going={each} note={notes?.get(frameKey(each.frame))} back={takeBack} />
          ))}
        </ul>
      )}
      {idle.map((name) => (
        <p key={name} className="small line-of">
          <span>
            <span className="mono">{name}</span> was released, and this map does not let it out.
          </span>
          <button type="button" className="button plain" onClick={() => drop(name)}>
            Take back<span className="unseen"> {name}</span>
          </button>
        </p>
      ))}
      {waiting.length > 0 && (
        <Folded
          className="sending-out"
          startsOpen={going.length === 0}
          summary={
            <>
              <b>{plural(waiting.length, 'frame')}</b> <span className="dim">stay out until released</span>
            </>
          }
        >
          <ul className="sending-frames" aria-label="Frames that stay out until released">
            {waiting.map((kept) => (
              <Kept key={frameKey(kept.frame)} kept={kept} release={() => release(releaseName(map, kept.frame))} />
            ))}
          </ul>
        </Folded>
      )}
      {never.length > 0 && (
        <details className="sending-out">
          <summary>
            <b>{plural(never.length, 'frame')}</b> <span className="dim">never go out</span>
          </summary>
          <ul className="sending-frames" aria-label="Frames that never go out">
            {never.map((kept) => (
              <Kept key={frameKey(kept.frame)} kept={kept} release={null} />
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

export const FrameName = ({ frame }: { frame: MapFrame }): ReactNode => (
  <span className="sending-name">
    {frame.sender && <GroupTag group={frame.sender.group} />}{' '}
    <span className="mono">{displayId(Number(frame.id), frame.extended)}</span> <span>{frame.name}</span>{' '}
    <span className="dim small">{frame.bus}</span>
  </span>
);

interface GoingProps {
  readonly going: GoingFrame;
  readonly note: string | undefined;
  readonly back: FramesProps['takeBack'];
}

function Going({ going: { frame, because, mayCommand }, note, back }: GoingProps): ReactNode {
  return (
    <li>
      <FrameName frame={frame} />
      <span className="small sending-why">
        {because === 'released' ? 'released by name' : <i>sent on the bench, and nothing moved</i>}
        {mayCommand.length > 0 && <b>; may command by {mayCommand.join(', ')}</b>}
        {note && <i>; stays out: {note}</i>}
      </span>
      {because === 'released' && back && (
        <button type="button" className="button plain" onClick={() => back(frame)}>
          Take back<span className="unseen"> {frame.name || frameKey(frame)}</span>
        </button>
      )}
    </li>
  );
}

function Kept({ kept: { frame, why }, release }: { kept: KeptOutFrame; release: (() => void) | null }): ReactNode {
  const called = frame.name || frameKey(frame);
  return (
    <li>
      <FrameName frame={frame} />
      <span className="small dim sending-why">{why}</span>
      {release && needsItsName(frame) && <ByName frame={frame} release={release} />}
      {release && !needsItsName(frame) && (
        <button type="button" className="button" onClick={release}>
          Release<span className="unseen"> {called}</span>
        </button>
      )}
    </li>
  );
}

/** Its whole name in letters. */
function ByName({ frame, release }: { frame: MapFrame; release: () => void }): ReactNode {
  const [typed, setTyped] = useState('');
  const [isWrong, setWrong] = useState(false);
  const problem = useId();
  const name = frame.name || frameKey(frame);
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    const isIt = typed.trim() === name || typed.trim() === frameKey(frame);
    setWrong(!isIt);
    if (isIt) release();
  };
  return (
    <form className="line-of sending-by-name" onSubmit={submit}>
      <input
        className="field mono"
        value={typed}
        autoComplete="off"
        autoCapitalize="off"
        spellCheck={false}
        placeholder="its whole name"
        aria-label={`Whole name of ${name}, to release it`}
        aria-invalid={isWrong}
        aria-describedby={isWrong ? problem : undefined}
        onChange={(event) => {
          setTyped(event.target.value);
          setWrong(false);
        }}
      />
      <button type="submit" className="button">
        Release<span className="unseen"> {name}</span>
      </button>
      {isWrong && (
        <span id={problem} className="small" role="status">
          Not its name: {name}
        </span>
      )}
    </form>
  );
}
