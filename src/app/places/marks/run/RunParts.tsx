/** Parts of a running card: how it should feel, the count-down, and the one big button. */
import { useMemo, type ReactNode } from 'react';
import { FEEL_HEIGHT, feelScene } from '../../../pictures/marks.ts';
import { Picture } from '../../../surface/Picture.tsx';
import { stepOf, type Run } from './machine.ts';
import type { RunControl } from './use-run.ts';

/** How the action should feel: pressed, held, let go; and where in it one is. */
export function Feel({ control }: { control: RunControl }): ReactNode {
  const { run, leftS } = control;
  const holdS = stepOf(run)?.holdS ?? 0;
  const share = run.phase === 'hold' ? Math.round(Math.min(1, Math.max(0, 1 - leftS / holdS)) * 200) / 200 : 0;
  const scene = useMemo(() => feelScene(share), [share]);
  if (!holdS || (run.phase !== 'hold' && run.phase !== 'cue')) return null;
  return (
    <div className="feel">
      <p className="small dim">how it should feel</p>
      <Picture label="Press, hold, then let go" height={FEEL_HEIGHT} scene={scene} />
    </div>
  );
}

export function Count({ control }: { control: RunControl }): ReactNode {
  const { run, leftS } = control;
  const step = stepOf(run);
  const seconds = Math.max(0, Math.ceil(leftS));
  if (run.phase === 'cue')
    return (
      <p className="count">
        <span className="count-words">
          {step?.holdS ? `when you are ready; hold for ${step.holdS} s` : 'when you are ready'}
        </span>
      </p>
    );
  if (run.phase === 'hold' && leftS <= 0)
    return (
      <p className="count">
        <span className="count-words">let go now</span>
      </p>
    );
  const then =
    run.phase === 'hold'
      ? 's, then let go'
      : run.phase === 'rest'
        ? `s, then: ${stepOf(run)?.says.toLowerCase() ?? ''}`
        : 's more';
  return (
    <p className="count">
      {seconds}
      <span className="count-words"> {then}</span>
    </p>
  );
}

const buttonWords = (run: Run): string => {
  const step = stepOf(run);
  if (run.phase === 'hold') return 'Letting go now';
  if (run.phase === 'cue') return step?.holdS ? 'Starting now' : 'Done now';
  return 'Wait';
};

export function BigButton({ control }: { control: RunControl }): ReactNode {
  const { run } = control;
  const waits = run.pausedAt !== null || (run.phase !== 'cue' && run.phase !== 'hold');
  return (
    <button
      type="button"
      className="big-button"
      aria-disabled={waits}
      onPointerDown={waits ? undefined : control.press}
      onClick={(event) => event.detail === 0 && control.press()}
    >
      <span>
        {buttonWords(run)}
        <small>
          {run.phase === 'hold'
            ? 'writes the end of the mark'
            : run.phase === 'cue'
              ? 'writes the mark'
              : 'nothing touched until the cue'}
        </small>
      </span>
      <kbd>Space</kbd>
    </button>
  );
}
