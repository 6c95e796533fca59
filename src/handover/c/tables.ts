/** The points of a signal's table as C arrays, in the order in which they are looked up. */
import type { MapSignal } from '../../map/schema.ts';
import type { FixedPoint } from './fixed-point.ts';
import { i64 } from './raw-tests.ts';
import { doubleLiteral } from './text.ts';

/** `forward`: by raw value. `backward`: by physical value, which a falling table has the other way round. */
type Way = 'forward' | 'backward';

function inOrder<Value extends number | bigint>(
  points: readonly (readonly [Value, Value])[],
  way: Way,
): readonly (readonly [Value, Value])[] {
  const [first, last] = [points[0], points.at(-1)];
  const falling = first !== undefined && last !== undefined && first[1] > last[1];
  return way === 'backward' && falling ? points.toReversed() : points;
}

export function floatTable({ table }: MapSignal, way: Way): string[] {
  if (!table || table.length === 0) return [];
  const points = inOrder<number>(table, way);
  const list = (index: 0 | 1): string => points.map((point) => doubleLiteral(point[index])).join(', ');
  return [`static const double raws[] = {${list(0)}};`, `static const double values[] = {${list(1)}};`];
}

export function wholeTable(table: FixedPoint['table'], way: Way): string[] {
  if (!table) return [];
  const points = inOrder<bigint>(table, way);
  const list = (index: 0 | 1): string => points.map((point) => i64(point[index])).join(', ');
  return [`static const int64_t raws[] = {${list(0)}};`, `static const int64_t values[] = {${list(1)}};`];
}
