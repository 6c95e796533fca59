/** The identifiers beside their threads: a list that arrows move in; Enter opens the payload. */
import { useRef, type KeyboardEvent, type ReactNode } from 'react';
import { streamName } from '../../../frames/table.ts';
import { displayId } from '../../../kit/units.ts';
import type { SurveyFrame } from '../../../timing/types.ts';
import { useView } from '../../stores/view.ts';
import { keyOf, timingWords } from './survey-words.ts';

interface ThreadListProps {
  readonly frames: readonly SurveyFrame[];
  readonly selected: string | null;
  /** Several buses: the bus stands before the identifier. */
  readonly several: boolean;
  /** False where the file has no time stamps: nothing may be said about periods. */
  readonly timed: boolean;
}

export function ThreadList({ frames, selected, several, timed }: ThreadListProps): ReactNode {
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
          <span className="dim tiny">{timed ? timingWords(frame) : ''}</span>
        </li>
      ))}
    </ul>
  );
}
