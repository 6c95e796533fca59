/** What a tester asked for in this capture and what was answered: identifiers whose values serve as references, and fault codes. */
import { useState, type ReactNode } from 'react';
import type { ConversationReport, IdentifierReport } from '../../../reference/diagnostics/report.ts';
import { useDiagnostics } from '../../stores/diagnostics.ts';
import { count, plural } from '../../../kit/sheet-figures.ts';
import { askedHead, askedWords, faultsTold, rangeWords, refusedWords } from './asked-words.ts';
import { fromDiagnostics, referenceKey, type ShownReference } from './references.ts';
import type { SignalRow } from './held-signal.ts';
import { useSignals } from './store.ts';

const FIRST_ROWS = 8;

export function Asked({ held }: { held: SignalRow | null }): ReactNode {
  const answer = useDiagnostics().value;
  const conversations = answer?.report.conversations ?? [];
  if (!answer || conversations.length === 0) return null;
  const references = fromDiagnostics(answer.reference);
  return (
    <section className="signals-asked">
      <h3>
        Asked and answered <small>a tester was at work in this recording; its answers are known quantities</small>
      </h3>
      {conversations.map((conversation) => (
        <Conversation
          key={`${conversation.bus} ${askedHead(conversation)}`}
          conversation={conversation}
          references={references}
          held={held}
        />
      ))}
    </section>
  );
}

interface ConversationProps {
  readonly conversation: ConversationReport;
  readonly references: readonly ShownReference[];
  readonly held: SignalRow | null;
}

function Conversation({ conversation, references, held }: ConversationProps): ReactNode {
  const [all, setAll] = useState(false);
  const { identifiers, bus } = conversation;
  const refused = refusedWords(conversation);
  return (
    <div className="signals-conversation">
      <p>
        <b>{askedHead(conversation)}</b> <span className="dim">on {bus}</span>
      </p>
      <p className="small dim">
        {askedWords(conversation)} {refused}
      </p>
      <Faults conversation={conversation} />
      {identifiers.length > 0 && (
        <table className="list">
          <thead>
            <tr>
              <th>asked for</th>
              <th>meaning</th>
              <th>answered</th>
              <th className="right">readings</th>
              <th>
                <span className="unseen">to do</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {identifiers.slice(0, all ? undefined : FIRST_ROWS).map((identifier) => (
              <Identifier key={identifier.name} identifier={identifier} references={references} held={held} />
            ))}
          </tbody>
        </table>
      )}
      {identifiers.length > FIRST_ROWS && (
        <p style={{ marginTop: 6 }}>
          <button type="button" className="button" aria-expanded={all} onClick={() => setAll(!all)}>
            {all ? 'Fewer' : `All ${plural(identifiers.length, 'identifier')}`}
          </button>
        </p>
      )}
    </div>
  );
}

function Faults({ conversation }: { conversation: ConversationReport }): ReactNode {
  const faults = faultsTold(conversation);
  if (faults.length === 0) return null;
  return (
    <ul className="signals-faults small">
      {faults.map(({ code, words }) => (
        <li key={code}>
          <span className="mono">{code}</span> {words}
        </li>
      ))}
    </ul>
  );
}

interface IdentifierProps {
  readonly identifier: IdentifierReport;
  readonly references: readonly ShownReference[];
  readonly held: SignalRow | null;
}

function Identifier({ identifier, references, held }: IdentifierProps): ReactNode {
  const quantity = useSignals((state) => state.quantity);
  const { name, meaning, n, distinct } = identifier;
  const reference = references.find((each) => each.name === name || each.name === `${name} ${meaning}`);
  const chosen = reference !== undefined && quantity === referenceKey(reference);
  return (
    <tr>
      <td className="mono">{name}</td>
      <td>{meaning ?? <i className="dim">yours to name</i>}</td>
      <td>{rangeWords(identifier)}</td>
      <td className="right">{count(n)}</td>
      <td className="right">
        {reference && distinct > 1 && held && (
          <button
            type="button"
            className="button"
            aria-pressed={chosen}
            disabled={chosen}
            onClick={() => useSignals.getState().set({ quantity: referenceKey(reference) })}
          >
            {chosen ? 'In the fit' : 'Fit against it'}
          </button>
        )}
        {distinct === 1 && <i className="tiny dim">never changed</i>}
      </td>
    </tr>
  );
}
