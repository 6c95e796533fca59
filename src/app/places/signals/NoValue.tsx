/** Offers to leave out a value that looks like a filling, and lists what is left out already. */
import type { ReactNode } from 'react';
import { useReadyEngine } from '../../stores/finding.ts';
import { useView } from '../../stores/view.ts';
import { value as figure } from '../../../kit/sheet-figures.ts';
import { traceRequestOf } from '../payloads/trace-request.ts';
import type { SignalRow } from './held-signal.ts';
import { fillingSeen, withNoValue } from './no-value.ts';
import { edit } from './SignalEditor.tsx';

const hex = (raw: number): string => `0x${raw.toString(16).toUpperCase()}`;

export function NoValue({ row }: { row: SignalRow }): ReactNode {
  const ready = useReadyEngine();
  const domain = useView((view) => view.domain);
  const { signal } = row;
  const seen = fillingSeen(signal);
  const leaveOut = async (raw: number): Promise<void> => {
    if (!ready) return;
    const without = withNoValue(signal, raw, null);
    const request = traceRequestOf(row.stream, without, row.findings);
    const [picture] = await ready.engine.traces([request], { ...domain, columns: 1 });
    const range = picture && Number.isFinite(picture.least) ? { min: picture.least, max: picture.greatest } : null;
    edit(row, `no value in ${signal.name}`, (old) => withNoValue(old, raw, range));
  };
  if (!seen && signal.invalid.length === 0) return null;
  return (
    <div className="signals-no-value small">
      {signal.invalid.map(({ from, to, meaning }) => (
        <p key={String(from)} className="dim">
          <span className="mono">
            {typeof from === 'number' ? hex(from) : from}
            {to === from ? '' : ` to ${typeof to === 'number' ? hex(to) : to}`}
          </span>{' '}
          is read as: {meaning}.
        </p>
      ))}
      {seen && (
        <p className="line-of">
          <span>
            <span className="mono">{hex(seen.raw)}</span> was sent, {figure(seen.physical)} {signal.unit}:{' '}
            <i>it looks like “no value”.</i>
          </span>
          <button type="button" className="button" onClick={() => void leaveOut(seen.raw)}>
            Leave it out
          </button>
        </p>
      )}
    </div>
  );
}
