/** The letter of a sender group in a frame of its hue. */
import type { ReactNode } from 'react';
import { groupStyle, isHueRepeated } from '../../kit/drawing/palette.ts';

export function GroupTag({ group }: { group: string }): ReactNode {
  return (
    <span
      className="group-tag"
      style={{
        borderColor: groupStyle(group, 'var(--ink-2)'),
        ...(isHueRepeated(group) ? { borderStyle: 'dashed' } : {}),
      }}
    >
      {group}
    </span>
  );
}
