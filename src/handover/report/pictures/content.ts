/** What the report's pictures show, as plain data; `draw.ts` has the scene for each. */
import type { Loom } from '../../../timing/loom/model.ts';
import type { BitLayout } from './bits-layout.ts';
import type { ClaimKind } from './claims.ts';
import type { SequenceContent } from './sequence-scene.ts';
import type { ScheduleContent } from './schedule-scene.ts';
import type { AxisContent, TraceContent } from './trace-scene.ts';

export type PictureContent =
  | { readonly of: 'loom'; readonly loom: Loom }
  | { readonly of: 'bits'; readonly layout: BitLayout }
  | { readonly of: 'bits-legend'; readonly kind: ClaimKind }
  | { readonly of: 'trace'; readonly trace: TraceContent }
  | { readonly of: 'axis'; readonly axis: AxisContent }
  | { readonly of: 'sequence'; readonly sequence: SequenceContent }
  | { readonly of: 'schedule'; readonly schedule: ScheduleContent };
