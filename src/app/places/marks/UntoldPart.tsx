/** Findings about the marks themselves: actions that the recording cannot tell apart, and actions that nobody surely answers. */
import { useMemo, type ReactNode } from 'react';
import { useLinks, type RulerMarks } from '../../stores/asking.ts';
import { useView } from '../../stores/view.ts';
import { untoldOf, type Untold } from './untold.ts';

export function useUntold(): ReadonlyMap<string, Untold> {
  const report = useLinks().value;
  return useMemo(() => new Map((report?.actions ?? []).map((one) => [one.action, untoldOf(one)])), [report]);
}

export function UntoldPart({ ruler }: { ruler: RulerMarks }): ReactNode {
  const untold = useUntold();
  const rows = ruler.actions.flatMap((action) => {
    const one = untold.get(action);
    return one?.short ? [one] : [];
  });
  const held = useView(({ selection }) => selection.action);
  if (rows.length === 0) return null;
  return (
    <section>
      <h3>Still open</h3>
      <ul className="untold small">
        {rows.map(({ action, short }) => (
          <li key={action}>
            <button
              type="button"
              className="button plain"
              aria-pressed={held === action}
              onClick={() => useView.getState().select({ action, mark: null })}
            >
              {action}
            </button>
            <i className="dim">{short}</i>
          </li>
        ))}
      </ul>
      <p className="tiny dim">Choose one to read why, and what to record or to probe next.</p>
    </section>
  );
}
