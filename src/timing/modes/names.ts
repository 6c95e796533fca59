/**
 * Names for the stretches that the capture was cut into. Steady traffic is "on"; a number follows where it is of another kind. Marks divide
 * steady stretches further and name the parts: a mark near a turn of the traffic means that turn, as people mark late or early.
 */
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { Stretch } from './cut.ts';
import { markedSpans, type MarkedSpan } from './mark-states.ts';
import type { ModeMark, ModeSpan } from './types.ts';

/** A mark and a turn of the traffic closer than this are the same event: people react within a second and write within another. */
const SAME_EVENT_S = 2;

interface Part {
  readonly fromS: number;
  readonly toS: number;
  readonly stretch: Stretch;
  readonly marked: MarkedSpan | null;
}

/** Where a border by mark lies: at the stretch's own edge where that is near. */
function settleBorder(atS: number, fromS: number, toS: number): number {
  if (Math.abs(atS - fromS) <= SAME_EVENT_S || atS < fromS) return fromS;
  return Math.abs(atS - toS) <= SAME_EVENT_S || atS > toS ? toS : atS;
}

/** A steady stretch divided where marks change the mode within it. */
function partsOf(stretch: Stretch, spans: readonly MarkedSpan[]): Part[] {
  const [fromS, toS] = [stretch.fromUs / MICROS_PER_SECOND, stretch.toUs / MICROS_PER_SECOND];
  if (stretch.kind !== 'steady') return [{ fromS, toS, stretch, marked: null }];
  const parts: Part[] = [];
  let nowS = fromS;
  for (const marked of spans) {
    const startS = Math.max(nowS, settleBorder(marked.fromS, fromS, toS));
    const endS = settleBorder(marked.toS, fromS, toS);
    if (endS <= startS) continue;
    if (startS > nowS) parts.push({ fromS: nowS, toS: startS, stretch, marked: null });
    parts.push({ fromS: startS, toS: endS, stretch, marked });
    nowS = endS;
  }
  if (nowS < toS) parts.push({ fromS: nowS, toS, stretch, marked: null });
  return parts;
}

const nameOf = ({ stretch, marked }: Part): string =>
  stretch.kind === 'steady' ? (marked?.mode ?? 'on') : stretch.kind;

function whyOf({ stretch, marked, fromS }: Part): string {
  if (!marked) return stretch.kind === 'steady' ? `${stretch.why}; no mark says what the vehicle does` : stretch.why;
  const byTraffic = Math.abs(fromS - stretch.fromUs / MICROS_PER_SECOND) < 1e-6;
  const border = byTraffic ? stretch.why : 'the traffic itself does not change where this begins';
  return `marked "${marked.because}"; ${border}`;
}

const isSteady = ({ stretch }: Part): boolean => stretch.kind === 'steady';

/** "driving" for the first kind of traffic seen under that name, "driving 2" for the next. */
function numbered(parts: readonly Part[]): string[] {
  const traffics = new Map<string, number[]>();
  return parts.map((part) => {
    const name = nameOf(part);
    if (!isSteady(part)) return name;
    const known = traffics.get(name) ?? [];
    if (!known.includes(part.stretch.traffic)) known.push(part.stretch.traffic);
    traffics.set(name, known);
    const place = known.indexOf(part.stretch.traffic);
    return place === 0 ? name : `${name} ${place + 1}`;
  });
}

/** @param marks on the capture's clock, in any order; empty without any */
export function nameModes(stretches: readonly Stretch[], marks: readonly ModeMark[]): ModeSpan[] {
  const spans = markedSpans(marks);
  const parts = stretches.flatMap((stretch) => partsOf(stretch, spans));
  const names = numbered(parts);
  const hasMarks = spans.length > 0;
  return parts.map((part, at) => ({
    mode: names[at] as string,
    fromS: part.fromS,
    toS: part.toS,
    why: hasMarks || !isSteady(part) ? whyOf(part) : part.stretch.why,
  }));
}
