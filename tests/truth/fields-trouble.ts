/** Why a span was missed or is wrong, by how what was claimed lies to what is true: for those who mend the finders. */
import { placeName } from '../../src/fields/describe.ts';
import { bitPositions } from '../../src/frames/bits.ts';
import type { FoundField } from './fields-scorecard.ts';
import type { Known, KnownField, Seen, Sight } from './fields-truth.ts';

export interface Trouble {
  readonly what: 'span' | 'sign' | 'counter' | 'checksum' | 'selector' | 'mac' | 'unsolved' | 'cipher';
  readonly cause: string;
  /** What moves the true field, or the rule. */
  readonly model: string;
  /** Vehicle, bus and identifier. */
  readonly at: string;
  /** Places, number of moves, reasons. */
  readonly text: string;
}

type SeenField = Seen<KnownField>;
type SeenClaim = Seen<FoundField>;

/** "0..11" or "8..15,0..3": bits as byte * 8 + bit, least significant first. */
function bitsText(bits: readonly number[]): string {
  const runs: [number, number][] = [];
  for (const at of bits) {
    const last = runs.at(-1);
    if (last && at === last[1] + 1) last[1] = at;
    else runs.push([at, at]);
  }
  return runs.map(([from, to]) => (from === to ? `${from}` : `${from}..${to}`)).join(',');
}

const overlaps = (a: readonly number[], b: readonly number[]): boolean => a.some((at) => b.includes(at));
const holds = (a: readonly number[], b: readonly number[]): boolean => b.every((at) => a.includes(at));

function causeOf(each: SeenField, meeting: readonly SeenClaim[], others: readonly Known[]): string {
  const same = meeting.filter(({ rowsKey }) => rowsKey === each.rowsKey);
  const own = same[0];
  if (!own) {
    if (meeting.some(({ bits }) => bits.join() === each.bits.join())) return 'right bits, other frames';
    if (meeting.length > 0) return 'claimed on other frames';
    const taken = others.some(({ place }) => overlaps(bitPositions(place), each.bits));
    return taken ? 'taken by a guard or selector' : 'unclaimed';
  }
  const sameBits = same.find(({ bits }) => bits.length === each.bits.length && holds(bits, each.bits));
  if (sameBits) return 'other order, same bits';
  if (same.length > 1) return same.every(({ bits }) => holds(each.bits, bits)) ? 'split' : 'split and shifted';
  if (holds(own.bits, each.bits)) return 'merged with a neighbour';
  if (!holds(each.bits, own.bits)) return 'shifted';
  const [low, high] = [own.bits.includes(each.bits[0] as number), own.bits.includes(each.bits.at(-1) as number)];
  return low ? 'top bits cut' : high ? 'low bits cut' : 'both ends cut';
}

function movesOf(each: SeenField, sight: Sight): number {
  if (each.bits.length > 53 || each.of.place.length > 53) return NaN;
  const values = sight.valuesOf(each);
  return values.reduce((sum, value, row) => sum + (row > 0 && value !== values[row - 1] ? 1 : 0), 0);
}

const FEW_MOVES = 10;
const claimText = ({ bits, of: { signal } }: SeenClaim): string =>
  `${bitsText(bits)} ${signal.coding} ${signal.kind} at ${signal.confidence}${signal.when ? ` when ${JSON.stringify(signal.when)}` : ''} (${signal.why})`;

function missedText(each: SeenField, meeting: readonly SeenClaim[], moves: number): string {
  const { place, coding, kind, on } = each.of;
  const full = placeName(place);
  const page = on.map(({ place: at, values }) => `${placeName(at)} in ${values.join('/')}`).join(', ');
  return `true ${bitsText(each.bits)} of ${full} ${coding} ${kind}${page ? ` on ${page}` : ''}, ${moves} moves in ${each.rows.length} frames; claimed ${meeting.map(claimText).join('; ') || 'nothing'}`;
}

/** One trouble for each true span that was missed, and for each wrong claim that meets none of those. */
export function causesOf(
  claims: readonly SeenClaim[],
  truth: readonly SeenField[],
  others: readonly Known[],
  sight: Sight,
  at: string,
): Trouble[] {
  const claimed = new Set(claims.map(({ key }) => key));
  const missed = truth.filter(({ key }) => !claimed.has(key));
  const troubles = missed.map((each): Trouble => {
    const meeting = claims.filter(({ bits }) => overlaps(bits, each.bits));
    const moves = movesOf(each, sight);
    const cause = causeOf(each, meeting, others) + (moves < FEW_MOVES ? `, under ${FEW_MOVES} moves` : '');
    return { what: 'span', cause, model: each.of.model, at, text: missedText(each, meeting, moves) };
  });
  const wanted = new Set(truth.map(({ key }) => key));
  const alone = claims.filter(({ key, bits }) => !wanted.has(key) && !missed.some((each) => overlaps(bits, each.bits)));
  return [
    ...troubles,
    ...alone.map((claim): Trouble => ({
      what: 'span',
      cause: 'claimed where no value is missing',
      model: claim.of.signal.kind,
      at,
      text: claimText(claim),
    })),
  ];
}
