/** How a long job's progress is put together of its parts: never falling, whole at the end. */
import { describe, expect, it } from 'vitest';
import { sideBySide, type Progress } from '../../src/kit/control.ts';

describe('things done side by side', () => {
  it('fill the whole by their weights, whatever the order in which they report', () => {
    const told: Progress[] = [];
    const [long, short, none] = sideBySide({ onProgress: (progress) => told.push(progress) }, [3, 1, 0]);
    short?.onProgress?.({ share: 0.5, note: 'short' });
    long?.onProgress?.({ share: 0.5, note: 'long' });
    none?.onProgress?.({ share: 1, note: 'none' });
    short?.onProgress?.({ share: 1, note: 'short done' });
    // A part that reports less than before does not take the whole back.
    long?.onProgress?.({ share: 0.25, note: 'long again' });
    long?.onProgress?.({ share: 1, note: 'long done' });
    expect(told.map(({ share }) => share)).toEqual([0.125, 0.5, 0.5, 0.625, 0.625, 1]);
  });

  it('say what the first of them does that is not done', () => {
    const told: string[] = [];
    const [first, second] = sideBySide({ onProgress: ({ note }) => told.push(note) }, [1, 1]);
    second?.onProgress?.({ share: 0.1, note: 'second' });
    first?.onProgress?.({ share: 0.1, note: 'first' });
    second?.onProgress?.({ share: 0.2, note: 'second on' });
    first?.onProgress?.({ share: 1, note: 'first done' });
    expect(told).toEqual(['second', 'first', 'first', 'second on']);
  });

  it('are stopped as one', () => {
    const signal = { aborted: true };
    expect(sideBySide({ signal }, [1, 1]).every((control) => control.signal === signal)).toBe(true);
  });
});
