/** The head of Proof: which question, which capture, what of the verdicts is shown. */
import type { ReactNode } from 'react';
import { PROOF_QUESTIONS, useView } from '../../stores/view.ts';
import { usePhone } from '../payloads/layout.ts';
import { nextFilter } from './actions.ts';
import { useChoices } from './asking.ts';
import { DonorField } from './DonorField.tsx';
import { QUESTION_WORDS, questionAfter } from './questions.ts';
import type { Filter } from './rows.ts';
import { useProof } from './store.ts';

/** What the key does next. */
const NEXT_FILTER_WORDS: Readonly<Record<Filter, string>> = {
  all: 'Only what fails',
  fails: 'Only not exercised',
  'not-exercised': 'All of it',
  holds: 'All of it',
};

export function Controls(): ReactNode {
  const asks = useView((view) => view.proofAsks);
  const phone = usePhone();
  const chosen = useView((view) => view.against !== null);
  const some = useChoices().length > 0;
  const filter = useProof((state) => state.filter);
  return (
    <>
      {asks === 'holds' && some && (
        <button
          type="button"
          className="button proof-filter"
          onClick={() => useProof.getState().set({ choosing: true })}
        >
          Hold against… <kbd>H</kbd>
        </button>
      )}
      {asks === 'holds' && chosen && (
        <button type="button" className="button proof-filter" onClick={nextFilter}>
          {NEXT_FILTER_WORDS[filter]} <kbd>F</kbd>
        </button>
      )}
      {asks === 'weak' && !phone && <DonorField />}
      {!phone && <QuestionSwitch />}
    </>
  );
}

/** In the head; on a phone it has a line of its own at the top of the place. */
export function QuestionSwitch(): ReactNode {
  const asks = useView((view) => view.proofAsks);
  return (
    <span className="switch proof-asks" role="group" aria-label="Question">
      {PROOF_QUESTIONS.map((question) => (
        <button
          key={question}
          type="button"
          aria-pressed={asks === question}
          onClick={() => useView.getState().askProof(question)}
        >
          {QUESTION_WORDS[question]}
          {question === questionAfter(asks) && (
            <>
              {' '}
              <kbd>W</kbd>
            </>
          )}
        </button>
      ))}
    </span>
  );
}
