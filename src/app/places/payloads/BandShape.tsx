/** The shape of a band, in its place beside the threads or alone in a list. */
import { useMemo, type ReactNode } from 'react';
import type { Band } from '../../pictures/bands-model.ts';
import { BAND_WIDTH, shapesOf, type BandShapes } from '../../pictures/bands-shapes.ts';
import { layoutWeave } from '../../pictures/weave-layout.ts';

export function BandShape({ shapes }: { shapes: BandShapes }): ReactNode {
  return (
    <>
      <rect
        className="grip"
        x={0}
        y={Math.min(shapes.top, (shapes.top + shapes.bottom) / 2 - 6)}
        width={BAND_WIDTH}
        height={Math.max(12, shapes.bottom - shapes.top)}
      />
      {shapes.outlines.map((d) => (
        <path key={d} className="outline" d={d} />
      ))}
      {shapes.solids.map((d) => (
        <path key={d} className="solid" d={d} />
      ))}
      {shapes.dashedOutlines.map((d) => (
        <path key={d} className="dashed" d={d} />
      ))}
      {shapes.strokes.map((d) => (
        <path key={d} className="stroke" d={d} />
      ))}
      {shapes.dots.map(([x, y]) => (
        <circle key={`${x} ${y}`} className="dot" cx={x} cy={y} r={0.9} />
      ))}
      {shapes.stitches.map((d) => (
        <path key={d} className="stitch" d={d} />
      ))}
    </>
  );
}

/** The shape alone, in a box of two bytes' height at most, for lists. */
export function MiniShape({ band }: { band: Band }): ReactNode {
  const shapes = useMemo(() => {
    const layout = layoutWeave({ bytes: 1, available: 28, moves: () => true, openByte: null });
    const length = band.glyph === 'bar' ? 2 : 5;
    return shapesOf({ ...band, placement: { lsb: { byte: 0, bit: 1 }, length, order: 'little' } }, layout);
  }, [band]);
  return (
    <svg className="payloads-bands mini" width={18} height={28} viewBox="-1 0 18 28" aria-hidden="true">
      <BandShape shapes={shapes} />
    </svg>
  );
}
