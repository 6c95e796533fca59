/**
 * What speaks for a claim, entry by entry, in sentences with the figures that the map has. Figures that a sentence has no place for follow it by
 * their names in the map: nothing that was measured is passed over.
 */
import { grouped } from '../../kit/figures.ts';
import { percent, period, value } from '../../kit/sheet-figures.ts';
import type { Evidence } from '../../map/schema.ts';
import type { Context } from './context.ts';
import { joined, mono, runsOf, strong, type Words } from './document.ts';

const asNumber = (given: unknown): number | null =>
  typeof given === 'number' && Number.isFinite(given) ? given : null;
const asText = (given: unknown): string => (typeof given === 'string' ? given : '');
const listOf = (given: unknown): readonly unknown[] => (Array.isArray(given) ? given : []);

const RAISED = [...'⁰¹²³⁴⁵⁶⁷⁸⁹'];
/** "10⁻⁹": a negative power of ten. */
const tenTo = (power: number): string => `10⁻${[...String(power)].map((digit) => RAISED[Number(digit)]).join('')}`;

/** "0.0004", "6 × 10⁻⁹", "below 10⁻⁹⁹": a p or q value, never rounded to nothing. */
export function chanceWords(given: unknown): string {
  const p = asNumber(given);
  if (p === null) return '';
  if (p === 0 || p < 1e-99) return `below ${tenTo(99)}`;
  if (p >= 0.0001) return String(Number(p.toPrecision(2)));
  const [digits, power] = p.toExponential(0).split('e') as [string, string];
  return `${digits}\u00a0×\u00a0${tenTo(Number(power.replace(/^[-+]/, '')))}`;
}

const figure = (given: unknown): string => {
  const known = asNumber(given);
  return known === null ? '?' : Math.abs(known) < 0.001 && known !== 0 ? known.toExponential(1) : value(known);
};
const plusMinus = (given: unknown, error: unknown): string =>
  asNumber(error) === null ? figure(given) : `${figure(given)} ± ${figure(error)}`;
const counted = (given: unknown): string => grouped(asNumber(given) ?? 0);
const onlyIf = (condition: unknown, words: string): string => (condition ? words : '');

/** Keys that the sentence of a kind has told already. */
interface Told {
  readonly words: Words;
  readonly keys: readonly string[];
}

function linkWords(e: Evidence): Told {
  const words = [
    'answers ',
    strong(`“${asText(e['action'])}”`),
    ` (${asText(e['direction']) || 'level'}): moves by ${figure(e['effect'])} raw`,
    onlyIf(asNumber(e['effectSd']) !== null, `, ${figure(e['effectSd'])} robust standard deviations`),
    onlyIf(asNumber(e['lagS']) !== null, `, ${figure(e['lagS'])} s after the mark`),
    onlyIf(asNumber(e['n']) !== null, `, n ${counted(e['n'])}`),
    onlyIf(asNumber(e['q']) !== null, `, q ${chanceWords(e['q'])}`),
  ];
  return { words, keys: ['action', 'direction', 'effect', 'effectSd', 'effectInterval', 'lagS', 'n', 'p', 'q'] };
}

function statesWords(e: Evidence): Told {
  const states = listOf(e['states']).map((state) => {
    const { raw, value: name, seen } = (state ?? {}) as Record<string, unknown>;
    return `raw ${String(raw)} at “${String(name)}”${typeof seen === 'number' ? ` (${seen} times)` : ''}`;
  });
  if (states.length > 0) {
    const words = ['states told by the marks of ', strong(`“${asText(e['action'])}”`), `: ${states.join(', ')}`];
    return { words, keys: ['action', 'states'] };
  }
  const words = `state ${figure(e['state'])} named from ${counted(e['marks'])} marks, ${counted(e['against'])} against`;
  return { words, keys: ['state', 'marks', 'against'] };
}

function fitWords(e: Evidence): Told {
  const unit = asText(e['unit']);
  const words = [
    'goes with ',
    strong(asText(e['quantity'])),
    `${unit ? ` in ${unit}` : ''}: scale ${plusMinus(e['scale'], e['scaleSe'])}, offset ${plusMinus(e['offset'], e['offsetSe'])}`,
    `, r² ${asNumber(e['r2']) === null ? '?' : String(Number((e['r2'] as number).toPrecision(6)))} over ${counted(e['n'])} readings`,
    onlyIf(asNumber(e['simpleScale']) !== null, `; the nearest round scale is ${figure(e['simpleScale'])}`),
    onlyIf(asNumber(e['chance']) !== null, `; chance does as well with ${chanceWords(e['chance'])}`),
    onlyIf(asNumber(e['asGood']), `; ${counted(e['asGood'])} other fields fit as well`),
  ];
  const keys = [
    'quantity',
    'unit',
    'scale',
    'scaleSe',
    'offset',
    'offsetSe',
    'simpleScale',
    'r2',
    'n',
    'chance',
    'asGood',
  ];
  return { words, keys };
}

const LAWS: Readonly<Record<string, string>> = {
  'alike-speeds': 'the same speed several times, apart only in curves',
  'constant-ratio': 'two speeds in a constant ratio',
  'power-balance': 'a current goes with torque times speed',
  'charge-sum': 'a level goes with the sum of a current over time',
  'cell-sum': 'alike values add up to a total',
};

const lagWords = (e: Evidence): string => {
  const lag = asNumber(e['lagMs']);
  return lag === null ? '' : `${period(Math.abs(lag))} ${lag < 0 ? 'earlier' : 'later'}`;
};

function sameWords(e: Evidence, { placeName }: Context): Told {
  if (e['same'] === 'copy') {
    const words = [
      'shows the same as ',
      ...runsOf(placeName(e['of'])),
      `, ${lagWords(e)}, n ${counted(e['n'])}, q ${chanceWords(e['q'])}`,
    ];
    return { words, keys: ['quantity', 'same', 'of', 'values', 'lagMs', 'lagMsSe', 'follows', 'n', 'p', 'q'] };
  }
  const listed = joined(listOf(e['listed']).map(placeName), ', ');
  const words = [
    `is shown again by ${counted(e['copies'])} other fields: `,
    ...runsOf(listed),
    `, n ${counted(e['n'])}`,
  ];
  return { words, keys: ['quantity', 'same', 'copies', 'listed', 'n'] };
}

const TIES: readonly (readonly [key: string, words: string])[] = [
  ['follows', 'follows '],
  ['leads', 'is followed by '],
  ['bounds', 'bounds '],
  ['enables', 'lets act '],
  ['warns', 'stands for a fault of '],
];

function roleWords(e: Evidence, { placeName }: Context): Told | null {
  const tie = TIES.find(([key]) => typeof e[key] === 'object' && e[key] !== null);
  if (!tie) return null;
  const [key, says] = tie;
  const words = [
    says,
    ...runsOf(placeName(e[key])),
    onlyIf(lagWords(e), `, ${lagWords(e)}`),
    onlyIf(asNumber(e['r2']) !== null, `, r² ${figure(e['r2'])}`),
    onlyIf(asNumber(e['n']) !== null, `, n ${counted(e['n'])}`),
    onlyIf(asNumber(e['q']) !== null, `, q ${chanceWords(e['q'])}`),
  ];
  return { words, keys: ['quantity', 'told', key, 'lagMs', 'r2', 'n', 'p', 'q', 'way', 'sizes'] };
}

function lawWords(e: Evidence, { placeName }: Context): Told {
  const others = listOf(e['listed']).map((member): Words => {
    const part = asText((member as Record<string, unknown> | null)?.['part']);
    return [...runsOf(placeName(member)), part ? ` (${part})` : ''];
  });
  const law = LAWS[asText(e['quantity'])] ?? asText(e['quantity']);
  const words = [
    `takes part as ${asText(e['part']) || 'a member'} in: ${law}, with `,
    ...runsOf(joined(others, ', ')),
    onlyIf(asNumber(e['residual']) !== null, `; ${percent(asNumber(e['residual']) ?? 0, 2)} left open`),
    ` over ${counted(e['n'])} instants`,
    onlyIf(asNumber(e['q']) !== null, `, q ${chanceWords(e['q'])}`),
  ];
  return { words, keys: ['quantity', 'part', 'members', 'listed', 'residual', 'n', 'p', 'q'] };
}

function crossWords(e: Evidence, context: Context): Told {
  if (e['quantity'] === 'same-value') return sameWords(e, context);
  return roleWords(e, context) ?? lawWords(e, context);
}

function guardWords(e: Evidence): Told {
  const words = [
    `the rule holds in ${counted(e['passed'])} of ${counted(e['frames'])} frames`,
    onlyIf(
      asNumber(e['heldOut']) !== null,
      `, and in ${counted(e['heldOutPassed'])} of ${counted(e['heldOut'])} that were kept apart`,
    ),
    onlyIf(
      asNumber(e['independent']) !== null,
      `; ${counted(e['independent'])} independent changes of the payload speak for it`,
    ),
  ];
  return { words, keys: ['frames', 'passed', 'heldOut', 'heldOutPassed', 'independent'] };
}

function proofWords(e: Evidence): Told {
  const held = listOf(e['held']).filter((one): one is string => typeof one === 'string');
  const rate = asNumber(e['rate']);
  const words = [
    `held against a recording that it was not made from: ${asText(e['verdict']) || 'holds'}`,
    onlyIf(rate !== null, ` in ${percent(rate ?? 0, 1)}`),
    onlyIf(asNumber(e['n']) !== null, ` of ${counted(e['n'])}`),
    onlyIf(held.length > 0, ` (${held.join(', ')})`),
  ];
  return { words, keys: ['verdict', 'n', 'rate', 'held'] };
}

function benchWords(e: Evidence): Told {
  const moved = e['moved'];
  const words = [
    'on the bench',
    onlyIf(asNumber(e['trials']) !== null, `, ${counted(e['trials'])} trials`),
    onlyIf(typeof moved === 'boolean', moved === true ? ': something moved' : ': nothing moved'),
  ];
  return { words, keys: ['trials', 'moved'] };
}

function handWords(e: Evidence): Told {
  const { passed, checked } = e as { passed?: unknown; checked?: unknown };
  const words = [
    'placed or set by a person',
    onlyIf(asNumber(checked) !== null, `; it holds in ${counted(passed)} of ${counted(checked)} frames`),
  ];
  const instead = listOf(e['instead']).filter((one): one is string => typeof one === 'string');
  return {
    words: [...words, onlyIf(instead.length > 0, `; found instead: ${instead.join(', ')}`)],
    keys: ['passed', 'checked', 'instead'],
  };
}

const KINDS: Readonly<Record<Evidence['kind'], (evidence: Evidence, context: Context) => Told>> = {
  link: linkWords,
  states: statesWords,
  fit: fitWords,
  'cross-check': crossWords,
  guard: guardWords,
  proof: proofWords,
  bench: benchWords,
  'by-hand': handWords,
};

/** By name, as the map writes them. */
function otherFigures(evidence: Evidence, told: readonly string[]): string {
  const others = Object.entries(evidence).filter(([key]) => key !== 'kind' && key !== 'capture' && !told.includes(key));
  const scalar = others.flatMap(([key, given]) => {
    if (typeof given === 'number') return [`${key} ${figure(given)}`];
    if (typeof given === 'boolean') return [`${key} ${given ? 'yes' : 'no'}`];
    return typeof given === 'string' && given !== '' ? [`${key} ${given}`] : [];
  });
  return scalar.length > 0 ? `; ${scalar.join(', ')}` : '';
}

/** @returns one sentence without a full stop, its capture at the end */
export function evidenceWords(evidence: Evidence, context: Context): Words {
  const { words, keys } = KINDS[evidence.kind](evidence, context);
  const capture = context.captureName(evidence.capture);
  return [...runsOf(words), otherFigures(evidence, keys), ...(capture ? [' [', mono(capture), ']'] : [])].filter(
    (run) => run !== '',
  );
}

const ORDER: readonly Evidence['kind'][] = [
  'proof',
  'bench',
  'fit',
  'states',
  'link',
  'cross-check',
  'guard',
  'by-hand',
];
const strength = (e: Evidence): number => Math.abs(asNumber(e['effectSd']) ?? 0);

/** Proofs first, then what was measured; of links the strongest first. */
export const inOrder = (evidence: readonly Evidence[]): Evidence[] =>
  evidence.toSorted((a, b) => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind) || strength(b) - strength(a));
