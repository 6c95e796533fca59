/** Why a strand is where it is, with figures: its timing, its group and how sure that is, what it copies. */
import type { ReactNode } from 'react';
import { confidencePercent } from '../../../kit/figures.ts';
import type { Strand } from '../../pictures/loom-model.ts';

const sentence = (text: string): string => {
  const trimmed = text.trim().replace(/(?<!\w)-(?=\d)/g, '−');
  return `${trimmed.charAt(0).toUpperCase()}${trimmed.slice(1)}${/[.!?]$/.test(trimmed) ? '' : '.'}`;
};

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
      <p className="inferred">{sentence(frame.groupWhy)}</p>
      <p className="inferred">{sentence(frame.timingWhy)}</p>
      {frame.network && <p className="inferred">{sentence(frame.network.why)}</p>}
    </div>
  );
}
