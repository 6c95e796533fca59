/** The questions of Proof, in the order in which one key goes through them. */
import { PROOF_QUESTIONS, useView, type ProofQuestion } from '../../stores/view.ts';

export const QUESTION_WORDS: Readonly<Record<ProofQuestion, string>> = {
  holds: 'Does it hold?',
  weak: 'What is weak?',
  agree: 'Do we agree?',
};

export const questionAfter = (asks: ProofQuestion): ProofQuestion =>
  PROOF_QUESTIONS[(PROOF_QUESTIONS.indexOf(asks) + 1) % PROOF_QUESTIONS.length] ?? 'holds';

export function nextQuestion(): void {
  const { proofAsks, askProof } = useView.getState();
  askProof(questionAfter(proofAsks));
}
