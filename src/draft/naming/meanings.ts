/**
 * What fields of a vehicle may mean, and what speaks for it and against it: points as in a weighing of evidence, one rule a line with the words
 * that a person reads. The points are ours, set by what each trait implies; what a sum of points is worth is counted (`find.ts`). Which
 * quantities there are is common practice, no source.
 */
import type { Traits } from './traits.ts';

export interface Rule {
  readonly points: number;
  readonly when: (traits: Traits) => boolean;
  readonly words: (traits: Traits) => string;
}

export interface Meaning {
  readonly meaning: string;
  readonly unit: string;
  readonly rules: readonly Rule[];
}

const rule = (points: number, when: Rule['when'], words: string | Rule['words']): Rule => ({
  points,
  when,
  words: typeof words === 'string' ? () => words : words,
});

const answersLater = (points: number): Rule =>
  rule(
    points,
    ({ answers, first }) => answers.length > 0 && first.length === 0,
    'it answers an action, though not first',
  );

const isNumber = ({ kind }: Traits): boolean => kind === 'number';
const law =
  (name: string) =>
  (traits: Traits): boolean =>
    traits.laws.has(name);
const notNumber = rule(-9, (traits) => !isNumber(traits), 'it is no number');
const oneWay = (traits: Traits): boolean => traits.changes >= 8 && traits.oneWay > 0.97;

export const MEANINGS: readonly Meaning[] = [
  {
    meaning: 'wheel speed',
    unit: 'km/h',
    rules: [
      notNumber,
      rule(6, law('alike-speeds speed'), 'several alike in one frame, the same but in curves'),
      rule(2, law('constant-ratio speed'), 'always in one ratio to another speed'),
      rule(1, ({ told }) => told.has('behind'), 'its changes go with the level of another: a speed'),
    ],
  },
  {
    meaning: 'vehicle or motor speed',
    unit: 'km/h or rpm',
    rules: [
      notNumber,
      rule(4, law('constant-ratio speed'), 'always in one ratio to another speed'),
      rule(2, ({ told }) => told.has('behind'), 'its changes go with the level of another: a speed'),
      rule(2, law('power-balance speed'), 'times a torque it goes with a current'),
      rule(-2, law('alike-speeds speed'), 'several alike in one frame'),
    ],
  },
  {
    meaning: 'command of a torque',
    unit: 'N m',
    rules: [
      notNumber,
      rule(3, ({ role }) => role === 'command', 'another sender answers it'),
      rule(4, law('power-balance torque'), 'times a speed it goes with a current'),
      rule(-2, ({ goesBySteps }) => goesBySteps, 'it is set now and then, and stays'),
      rule(-3, ({ role }) => role === 'feedback', 'it answers another'),
    ],
  },
  {
    meaning: 'torque as given',
    unit: 'N m',
    rules: [
      notNumber,
      rule(3, ({ told }) => told.has('follows'), 'it answers a command'),
      rule(4, law('power-balance torque'), 'times a speed it goes with a current'),
      rule(-3, ({ role }) => role === 'command', 'another sender answers it'),
    ],
  },
  {
    meaning: 'current',
    unit: 'A',
    rules: [
      notNumber,
      rule(5, law('charge-sum current'), 'a level goes with its sum over time'),
      rule(3, law('power-balance power'), 'it goes with torque times speed'),
      rule(-4, ({ leastShare }) => leastShare > 0.6, 'it never comes near zero'),
    ],
  },
  {
    meaning: 'voltage of the pack or the link',
    unit: 'V',
    rules: [
      notNumber,
      rule(5, law('cell-sum sum'), 'it is what many alike values add up to'),
      rule(2, law('power-balance power'), 'it sags with torque times speed'),
      rule(
        2,
        ({ leastShare, singleSteps, distinct }) => leastShare > 0.6 && singleSteps < 0.9 && distinct > 12,
        'it never comes near zero',
      ),
      rule(-3, law('cell-sum cell'), 'it is one of many that add up to another'),
    ],
  },
  {
    meaning: 'voltage of a cell',
    unit: 'V',
    rules: [notNumber, rule(6, law('cell-sum cell'), 'it is one of many alike that add up to another')],
  },
  {
    meaning: 'state of charge',
    unit: '%',
    rules: [
      notNumber,
      rule(6, law('charge-sum level'), 'it goes with the sum over time of a current'),
      rule(1, ({ singleSteps }) => singleSteps > 0.7, 'it goes by single steps'),
    ],
  },
  {
    meaning: 'pedal or lever',
    unit: '%',
    rules: [
      notNumber,
      rule(
        5,
        ({ first }) => first.length > 0,
        ({ first }) => `it answers first when "${first[0] ?? ''}"`,
      ),
      answersLater(2),
      rule(2, ({ role }) => role === 'state', 'a command follows it, and it follows nothing'),
      rule(1, ({ atLeast }) => atLeast > 0.3, 'it rests at its lowest value'),
      rule(-3, ({ told }) => told.has('follows') || told.has('behind'), 'it follows something else'),
      rule(-3, ({ role }) => role === 'command', 'another sender answers it'),
    ],
  },
  {
    meaning: 'setting of a pump, fan or the like',
    unit: '%',
    rules: [
      notNumber,
      rule(3, ({ role }) => role === 'command', 'another sender answers it'),
      rule(3, ({ goesBySteps, role }) => goesBySteps && role === 'command', 'it is set now and then, and stays'),
      rule(-3, law('power-balance torque'), 'times a speed it goes with a current'),
    ],
  },
  {
    meaning: 'what a pump, fan or actuator does',
    unit: '',
    rules: [
      notNumber,
      rule(4, ({ told }) => told.has('follows'), 'it answers a command'),
      rule(-3, law('power-balance torque'), 'times a speed it goes with a current'),
    ],
  },
  {
    meaning: 'counter of time, distance or energy',
    unit: '',
    rules: [
      notNumber,
      rule(5, oneWay, 'it only goes one way'),
      rule(-4, law('charge-sum level'), 'it goes with a current'),
    ],
  },
  {
    meaning: 'temperature, or another slow quantity',
    unit: '°C',
    rules: [
      notNumber,
      rule(2, ({ singleSteps }) => singleSteps > 0.9, 'it goes by single steps'),
      rule(
        2,
        ({ leastShare, singleSteps }) => leastShare > 0.5 && singleSteps > 0.9,
        'it moves little against its size',
      ),
      rule(-4, oneWay, 'it only goes one way'),
      rule(-3, ({ laws }) => laws.size > 0, 'a faster law holds for it'),
      rule(-3, ({ answers }) => answers.length > 0, 'it answers an action'),
    ],
  },
  {
    meaning: 'switch',
    unit: '',
    rules: [
      rule(-9, ({ kind }) => kind !== 'flag', 'it is no flag'),
      rule(
        5,
        ({ first }) => first.length > 0,
        ({ first }) => `it answers first when "${first[0] ?? ''}"`,
      ),
      answersLater(2),
    ],
  },
  {
    meaning: 'lamp, relay or contact that follows a switch',
    unit: '',
    rules: [rule(-9, ({ kind }) => kind !== 'flag', 'it is no flag'), answersLater(4)],
  },
  {
    meaning: 'selector or mode',
    unit: '',
    rules: [
      rule(-9, ({ kind }) => kind !== 'states', 'it has no states'),
      rule(6, ({ stated }) => stated, 'its values go with those of the marks'),
      rule(
        3,
        ({ first }) => first.length > 0,
        ({ first }) => `it answers first when "${first[0] ?? ''}"`,
      ),
    ],
  },
  {
    meaning: 'state of a module',
    unit: '',
    rules: [
      rule(-9, ({ kind }) => kind !== 'states', 'it has no states'),
      rule(2, ({ stated }) => !stated, 'its values go with no marks'),
      rule(1, ({ answers }) => answers.length > 0, 'it answers an action'),
    ],
  },
];
