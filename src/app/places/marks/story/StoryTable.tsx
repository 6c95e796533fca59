/** The story as a table, for those who cannot see it. */
import type { ReactNode } from 'react';
import { delayWords, numbersWords, type Story } from '../../../pictures/story-model.ts';

export function StoryTable({ story }: { story: Story }): ReactNode {
  return (
    <table className="unseen">
      <caption>Steps after {story.name}, delays since the first step</caption>
      <thead>
        <tr>
          {['step', 'sender', 'field', 'from', 'to', 'delay', 'seen', 'answers step', 'missing in repetition'].map(
            (head) => (
              <th key={head}>{head}</th>
            ),
          )}
        </tr>
      </thead>
      <tbody>
        {story.steps.map((step) => (
          <tr key={step.key}>
            <td>{step.number}</td>
            <td>{step.known.sender || step.known.group || 'not known'}</td>
            <td>
              {step.id} {step.name}
            </td>
            <td>{step.from.words}</td>
            <td>{step.to.words}</td>
            <td>{delayWords(step)}</td>
            <td>
              {step.step.seen} of {story.n}
            </td>
            <td>{step.answers?.number ?? ''}</td>
            <td>{numbersWords(missingIn(step.delayS))}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const missingIn = (delayS: readonly number[]): number[] =>
  delayS.flatMap((delay, index) => (Number.isNaN(delay) ? [index + 1] : []));
