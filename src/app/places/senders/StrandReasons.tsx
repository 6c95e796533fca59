/** Why a strand is where it is, with figures: its timing, its group and how sure that is, what it copies. */
import type { ReactNode } from 'react';
import { confidencePercent } from '../../../kit/figures.ts';
import type { Strand } from '../../../timing/loom/model.ts';
import { sentence } from '../../words/sentence.ts';

const reason = (text: string): string => sentence(text.replace(/(?<!\w)-(?=\d)/g, '−'));

export function StrandReasons({ strand }: { strand: Strand }): ReactNode {
  const { frame } = strand;
  const confidence = frame.byHand ? frame.byHand.timingConfidence : frame.groupConfidence;
  return (
    <div className="senders-reasons small dim">
      {confidence !== null && (
        <p>
          {frame.byHand ? 'By timing alone' : 'That it is of this sender'}: confidence {confidencePercent(confidence)}.
        </p>
      )}
      <p className="inferred">{reason(frame.groupWhy)}</p>
      <p className="inferred">{reason(frame.timingWhy)}</p>
      {frame.network && <p className="inferred">{reason(frame.network.why)}</p>}
    </div>
  );
}
