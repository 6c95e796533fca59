/** The offset as a figure to type in, and the way back to what the data say. */
import { useState, type ReactNode } from 'react';
import { fixed } from '../../kit/sheet-figures.ts';

export interface OffsetFieldProps {
  readonly label: string;
  readonly heldS: number;
  readonly byHand: boolean;
  readonly hold: (offset: 'auto' | number) => void;
}

export function OffsetField({ label, heldS, byHand, hold }: OffsetFieldProps): ReactNode {
  const [text, setText] = useState<string | null>(null);
  const take = (): void => {
    const typed = Number((text ?? '').replace(',', '.').replace('−', '-'));
    if (text !== null && text.trim() !== '' && Number.isFinite(typed)) hold(typed);
    setText(null);
  };
  return (
    <>
      <div className="line-of offset-field">
        <input
          className="field"
          inputMode="decimal"
          aria-label={label}
          value={text ?? fixed(heldS, 2)}
          onChange={(event) => setText(event.target.value)}
          onBlur={take}
          onKeyDown={(event) => event.key === 'Enter' && take()}
        />
        <span className="small dim">s by hand</span>
      </div>
      {byHand && (
        <p style={{ marginTop: 6 }}>
          <button type="button" className="button" onClick={() => hold('auto')}>
            Find it from the data
          </button>
        </p>
      )}
    </>
  );
}
