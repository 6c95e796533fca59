/** Two versions of one signal: the same bits, in the same order, on the same pages. */
import { isByHand } from '../../map/evidence.ts';
import type { Evidence, MapSignal } from '../../map/schema.ts';
import { canonical, isSame, union, without } from './canonical.ts';
import { choose, inDispute, isMadeName, STANDINGS, stillDisputed, undisputed, type Ranked } from './rank.ts';
import type { Side } from './types.ts';

export interface MergedPart<T> {
  readonly item: T;
  readonly outcome: 'equal' | 'united' | 'conflict';
  readonly kept: Side | null;
  readonly decided: boolean;
  readonly detail: string;
  /** The version that is not in force. */
  readonly aside: T | null;
}

const DECODING = ['coding', 'kind', 'scale', 'offset', 'unit', 'table'] as const;
/** Merged by rules of their own below; of all other keys one version goes on where they differ. */
const OWN = [
  ...DECODING,
  'name',
  'alsoNamed',
  'role',
  'states',
  'invalid',
  'observed',
  'allowed',
  'standing',
  'sending',
  'confidence',
  'evidence',
  'notes',
  'mayExtend',
];

/** As finders leave a field whose meaning nobody knows yet. */
export const isBlank = (signal: MapSignal): boolean =>
  !isByHand(signal) &&
  signal.standing === 'guess' &&
  signal.scale === 1 &&
  signal.offset === 0 &&
  signal.unit === '' &&
  !signal.table &&
  Object.keys(signal.states).length === 0;

const isDecodedAlike = (a: MapSignal, b: MapSignal): boolean => DECODING.every((key) => isSame(a[key], b[key]));

interface Fit {
  readonly scale: number;
  readonly scaleSe: number;
  readonly offset: number;
  readonly offsetSe: number;
}

/** The sharpest fit among its evidence; null where none says how sure it is. */
function fitOf({ evidence }: MapSignal): Fit | null {
  const fits = evidence.filter(
    (one): one is Evidence & Fit =>
      one.kind === 'fit' && ['scale', 'scaleSe', 'offset', 'offsetSe'].every((key) => typeof one[key] === 'number'),
  );
  return fits.sort((a, b) => a.scaleSe - b.scaleSe || (canonical(a) < canonical(b) ? -1 : 1))[0] ?? null;
}

/** Standard errors by which two fits of one quantity may differ. */
const APART_MOST = 3;

/** Two fits of one unit that agree within what each says of its own uncertainty. */
function isFittedAlike(a: MapSignal, b: MapSignal): boolean {
  const [x, y] = [fitOf(a), fitOf(b)];
  if (!x || !y || a.coding !== b.coding || a.unit !== b.unit || a.table || b.table) return false;
  const near = (one: number, other: number, ...errors: number[]): boolean =>
    Math.abs(one - other) <= APART_MOST * Math.hypot(...errors);
  return near(a.scale, b.scale, x.scaleSe, y.scaleSe) && near(a.offset, b.offset, x.offsetSe, y.offsetSe);
}

/** Which of two that agree is the name, the role, the decoding: what is said, else what the choice takes. */
function settled<T>(a: T, b: T, isUnsaid: (value: T) => boolean, side: Side): { value: T; clash: boolean } {
  if (isSame(a, b)) return { value: a, clash: false };
  if (isUnsaid(a) !== isUnsaid(b)) return { value: isUnsaid(a) ? b : a, clash: false };
  return { value: side === 'first' ? a : b, clash: !isUnsaid(a) };
}

const inUnits = (range: MapSignal['observed'], { scale, offset }: MapSignal): MapSignal['observed'] => {
  if (!range) return null;
  const ends = [range.min * scale + offset, range.max * scale + offset];
  return { ...range, min: Math.min(...ends), max: Math.max(...ends) };
};

function hull(a: MapSignal['observed'], b: MapSignal['observed']): MapSignal['observed'] {
  if (!a || !b) return a ?? b;
  return { ...b, ...a, min: Math.min(a.min, b.min), max: Math.max(a.max, b.max) };
}

/** What was observed in raw numbers of a field that the other map scales, in that unit; a table or another coding tells nothing. */
function observedAs(kept: MapSignal, one: MapSignal): MapSignal['observed'] {
  if (isDecodedAlike(kept, one) || isFittedAlike(kept, one)) return one.observed;
  return isBlank(one) && one.coding === kept.coding && !kept.table ? inUnits(one.observed, kept) : null;
}

const lines = (a: string, b: string): string =>
  a === b ? a : union(a.split('\n').filter(Boolean).sort(), b.split('\n').filter(Boolean)).sort().join('\n');

function namesOf(signal: MapSignal): string[] {
  const also = signal['alsoNamed'];
  return [signal.name, ...(Array.isArray(also) ? also.filter((one): one is string => typeof one === 'string') : [])];
}

/** `id` of the frame, by which a name that nobody gave is known. */
export function mergeSignal(first: MapSignal, second: MapSignal, id: string): MergedPart<MapSignal> {
  if (isSame(first, second))
    return { item: first, outcome: 'equal', kept: null, decided: true, detail: '', aside: null };
  const [a, b] = [undisputed(first as Ranked), undisputed(second as Ranked)] as [MapSignal, MapSignal];
  const { side, decided } = choose([a as Ranked], [b as Ranked]);
  const [chosen, other] = side === 'first' ? [a, b] : [b, a];
  const agree = isDecodedAlike(a, b) || isFittedAlike(a, b) || isBlank(a) || isBlank(b);
  if (!agree) return clashing(chosen, other, side, decided);

  const decoder = isBlank(a) !== isBlank(b) ? (isBlank(a) ? b : a) : chosen;
  const name = settled(a.name, b.name, (text) => isMadeName(text, id), side);
  const role = settled(a.role, b.role, (value) => value === 'unknown', side);
  const allowed = settled(a.allowed, b.allowed, (value) => value === null, side);
  const states = { ...other.states, ...chosen.states };
  const clashes = [
    ...(name.clash ? ['name'] : []),
    ...(role.clash ? ['role'] : []),
    ...(allowed.clash ? ['allowed'] : []),
    ...Object.keys(states)
      .filter((key) => (a.states[key] ?? states[key]) !== (b.states[key] ?? states[key]))
      .map((key) => `state ${key}`),
    ...Object.keys(without(a, OWN)).filter((key) => key in b && !isSame(a[key], b[key])),
  ];
  const also = union(namesOf(a), namesOf(b))
    .filter((text) => text !== name.value && !isMadeName(text, id))
    .sort();
  const observed = hull(observedAs(decoder, a), observedAs(decoder, b));
  const { mayExtend: x } = a;
  const { mayExtend: y } = b;
  const extend =
    x && y ? { mayExtend: { ...y, ...x, above: Math.min(x.above, y.above), below: Math.min(x.below, y.below) } } : {};
  const both: MapSignal = {
    ...without(other, ['mayExtend', 'alsoNamed']),
    ...without(chosen, ['mayExtend', 'alsoNamed']),
    ...extend,
    ...(Object.fromEntries(DECODING.map((key) => [key, decoder[key]])) as Pick<MapSignal, (typeof DECODING)[number]>),
    name: name.value,
    role: role.value,
    allowed: allowed.value,
    states,
    invalid: union(a.invalid, b.invalid),
    observed,
    standing: STANDINGS[Math.max(STANDINGS.indexOf(a.standing), STANDINGS.indexOf(b.standing))] ?? 'guess',
    sending: a.sending === 'proven' || b.sending === 'proven' ? 'proven' : 'untested',
    confidence: Math.max(a.confidence, b.confidence),
    evidence: union(a.evidence, b.evidence),
    notes: lines(a.notes, b.notes),
    ...(also.length > 0 ? { alsoNamed: also } : {}),
  } as MapSignal;
  const item = stillDisputed(both as Ranked, [first, second] as Ranked[]) as MapSignal;
  if (clashes.length === 0)
    return { item, outcome: 'united', kept: null, decided: true, detail: unitedWords(a, b), aside: null };
  return {
    item,
    outcome: 'conflict',
    kept: side,
    decided,
    detail: `they differ in ${clashes.join(', ')}`,
    aside: other,
  };
}

function unitedWords(a: MapSignal, b: MapSignal): string {
  if (isBlank(a) !== isBlank(b)) return `the ${isBlank(a) ? 'second' : 'first'} knows what it means`;
  return isDecodedAlike(a, b)
    ? 'decoded alike; what each knows besides is taken together'
    : 'their fits agree within their uncertainty';
}

function clashing(chosen: MapSignal, other: MapSignal, side: Side, decided: boolean): MergedPart<MapSignal> {
  const differing = DECODING.filter((key) => !isSame(chosen[key], other[key]));
  return {
    item: decided ? chosen : (inDispute(chosen as Ranked) as MapSignal),
    outcome: 'conflict',
    kept: side,
    decided,
    detail: `decoded otherwise: ${differing.join(', ')}`,
    aside: other,
  };
}
