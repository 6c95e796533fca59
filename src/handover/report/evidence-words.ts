/**
 * What speaks for a claim, entry by entry, in sentences with the figures that the map has. Figures that a sentence has no place for follow it by
 * their names in the map: nothing that was measured is passed over.
 */
import { percent } from '../../kit/sheet-figures.ts';
import type { Evidence } from '../../map/schema.ts';
import type { Context } from './context.ts';
import { crossWords } from './cross-check-words.ts';
import { mono, runsOf, strong, type Words } from './document.ts';
import {
  asNumber,
  asText,
  chanceWords,
  counted,
  figure,
  listOf,
  onlyIf,
  plusMinus,
  type Told,
} from './evidence-figures.ts';

function linkWords(e: Evidence): Told {
  const lag = asNumber(e['lagS']);
  const words = [
    'answers ',
    strong(`“${asText(e['action'])}”`),
    ` (${asText(e['direction']) || 'level'}): moves by ${figure(e['effect'])} raw`,
    onlyIf(asNumber(e['effectSd']) !== null, `, ${figure(e['effectSd'])} robust standard deviations`),
    onlyIf(lag !== null, `, ${figure(Math.abs(lag ?? 0))} s ${(lag ?? 0) < 0 ? 'before' : 'after'} the mark`),
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
