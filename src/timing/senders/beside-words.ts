/**
 * What beside its clock made an identifier's membership surer or less sure, in words with figures: moments that it shares with the others
 * of its group and few of the bus have, guards alike, or that another group of the same time begins and stops apart from it.
 */
import { MOMENT_KINDS, type Beside, type MomentKind } from './shared-moments.ts';

/** Confidences that differ by less were decided by clocks. */
const DECIDED = 0.05;

const VERBS: Readonly<Record<MomentKind, string>> = { starts: 'begins', stops: 'stops', restarts: 'counts anew' };

/** An identifier by its place, and the others of its group. */
export interface Placed {
  readonly place: number;
  readonly others: readonly number[];
}

/** "begins with 3 of the 4 others (on 2 occasions)", a kind each; those of one kind that concern nobody are left out. */
function momentWords(
  counts: Beside['together'],
  manner: 'with' | 'apart from',
  { place, others }: Placed,
  n: number,
): string[] {
  return MOMENT_KINDS.flatMap((kind) => {
    const each = others.map((other) => counts[kind][place * n + other] as number).filter((count) => count > 0);
    if (each.length === 0) return [];
    const most = Math.max(...each);
    const occasions = most === 1 ? 'once' : `on up to ${most} occasions`;
    return [`${VERBS[kind]} ${manner} ${each.length} of the ${others.length} others, ${occasions}`];
  });
}

function guardWords({ guards, n }: Beside, { place, others }: Placed): string[] {
  const same = others.filter((other) => guards[place * n + other]).length;
  return same === 0 ? [] : [`its guard has the parameters of ${same} of them, as few others have`];
}

const ELSEWHERE = 'another group keeps the same time but begins, stops or counts anew apart from it';

/**
 * @param confidence as it is, and as clocks alone would have it
 * @returns '' where clocks decided
 */
export function besideWords(
  beside: Beside,
  placed: Placed,
  { confidence, clocksAlone }: { readonly confidence: number; readonly clocksAlone: number },
): string {
  if (Math.abs(confidence - clocksAlone) < DECIDED) return '';
  const isFor = confidence > clocksAlone;
  const moments = isFor
    ? momentWords(beside.together, 'with', placed, beside.n)
    : momentWords(beside.apart, 'apart from', placed, beside.n);
  const told = [
    ...(moments.length > 0 ? [`it ${moments.join('; ')}`] : []),
    ...(isFor ? guardWords(beside, placed) : []),
  ];
  if (told.length === 0 && !isFor) return '';
  const reason = told.length === 0 ? ELSEWHERE : told.join('; ');
  return `${reason}: ${isFor ? 'surer' : 'less sure'} for it than by clocks alone, ${clocksAlone.toFixed(2)}`;
}
