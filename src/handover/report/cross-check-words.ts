/** What ties a signal to others: the same value shown again, who follows whom, laws that several take part in. */
import { percent, period } from '../../kit/sheet-figures.ts';
import type { Evidence } from '../../map/schema.ts';
import type { Context } from './context.ts';
import { joined, runsOf, type Words } from './document.ts';
import { asNumber, asText, chanceWords, counted, figure, listOf, onlyIf, type Told } from './evidence-figures.ts';

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

export function crossWords(e: Evidence, context: Context): Told {
  if (e['quantity'] === 'same-value') return sameWords(e, context);
  return roleWords(e, context) ?? lawWords(e, context);
}
