/** From wherever a field is spoken of to the field itself in Payloads. */
import type { Placement } from '../../../frames/bits.ts';
import { useView } from '../../stores/view.ts';
import { streamOf } from '../signals/held-signal.ts';
import { plainPlacement, type FrameKey } from './decisions.ts';

export function seeFrame(frame: FrameKey): void {
  useView.getState().select({ stream: streamOf(frame), placement: null });
  useView.getState().go('payloads');
}

export function seeField(field: FrameKey & Placement): void {
  useView.getState().select({ stream: streamOf(field), placement: plainPlacement(field) });
  useView.getState().go('payloads');
}
