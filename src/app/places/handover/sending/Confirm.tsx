/** The cautions before something that can send is saved, and the phrase that is typed, not clicked: it names what is about to be sent. */
import { useEffect, useId, type FormEvent, type ReactNode } from 'react';
import { useHandover } from '../store.ts';
import { mayBeSaved, saveConfirmed, useConfirm, type SaveConfirmed } from './confirm-store.ts';

export interface ConfirmProps {
  readonly cautions: readonly string[];
  /** Those of them that hold whatever is sent: told last, and folded where they were ticked beside. */
  readonly usual: readonly string[];
  /** Empty where nothing is sent, and nothing needs to be typed. */
  readonly phrase: string;
  /** On the button: "Save schedule". */
  readonly saves: string;
  /** Keep stable (useCallback). */
  readonly save: SaveConfirmed;
}

export function Confirm({ cautions, usual, phrase, saves, save }: ConfirmProps): ReactNode {
  useEffect(() => {
    useConfirm.setState({ save, phrase });
    return () => useConfirm.setState({ save: null, phrase: '' });
  }, [save, phrase]);
  // Typed for another set of frames: it has to be read and typed anew.
  useEffect(() => useConfirm.setState({ typed: '' }), [phrase]);
  return (
    <section className="confirm" aria-label="Cautions of this export">
      <div className="stripes" aria-hidden="true" />
      <form
        onSubmit={(event: FormEvent) => {
          event.preventDefault();
          void saveConfirmed();
        }}
      >
        <Told cautions={cautions} usual={usual} />
        {phrase !== '' && <Phrase phrase={phrase} />}
        <SaveButton phrase={phrase} saves={saves} />
      </form>
    </section>
  );
}

/** Those of this very set first: they differ from time to time, and get skipped otherwise. */
function Told({ cautions, usual }: Pick<ConfirmProps, 'cautions' | 'usual'>): ReactNode {
  const isRead = useHandover((state) => state.read !== null);
  const own = cautions.filter((words) => !usual.includes(words));
  const others = cautions.filter((words) => usual.includes(words));
  return (
    <>
      <ol>
        {own.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ol>
      {others.length > 0 && (
        <details className="small" open={!isRead}>
          <summary>The {others.length} that hold for everything sent</summary>
          <ol>
            {others.map((words) => (
              <li key={words}>{words}</li>
            ))}
          </ol>
        </details>
      )}
    </>
  );
}

function Phrase({ phrase }: { phrase: string }): ReactNode {
  const typed = useConfirm((state) => state.typed);
  const field = useId();
  const isWrong = typed !== '' && !mayBeSaved(typed, phrase);
  return (
    <div className="confirm-typed">
      <label htmlFor={field}>
        You have read this and mean it: type <kbd>P</kbd>
      </label>
      <p className="mono confirm-phrase">{phrase}</p>
      <input
        id={field}
        className="field mono confirm-phrase-field"
        value={typed}
        autoComplete="off"
        autoCapitalize="off"
        autoCorrect="off"
        spellCheck={false}
        aria-describedby={`${field}-state`}
        onChange={(event) => useConfirm.setState({ typed: event.target.value })}
      />
      <p id={`${field}-state`} className="small dim" role="status">
        {isWrong ? 'Not the phrase yet.' : typed ? 'That is the phrase.' : ''}
      </p>
    </div>
  );
}

function SaveButton({ phrase, saves }: Pick<ConfirmProps, 'phrase' | 'saves'>): ReactNode {
  const { typed, saving } = useConfirm();
  return (
    <p className="line-of">
      <button type="submit" className="button go" disabled={saving || !mayBeSaved(typed, phrase)}>
        {saves} {phrase !== '' && <kbd>↵</kbd>}
      </button>
      {phrase !== '' && <span className="small dim">Nothing is saved before.</span>}
    </p>
  );
}
