/** What is not known, gathered from the whole map: each line says what is open and where. */
import { doubtOf } from '../../../map/doubt.ts';
import { describeWhen } from '../describe.ts';
import { shownId, type Context } from '../context.ts';
import type { MapFrame } from '../../../map/schema.ts';
import { mono, type Cell, type Section, type Words } from '../document.ts';
import { undeterminedWords } from '../guard-words.ts';
import { runsOfNumbers } from '../pictures/page-layouts.ts';
import { placementLength } from '../../../frames/bits.ts';

/** Names listed in a line; the others are counted. */
const NAMED_MOST = 8;

const listed = (names: readonly string[]): string =>
  names.length > NAMED_MOST
    ? `${names.slice(0, NAMED_MOST).join(', ')} and ${names.length - NAMED_MOST} more`
    : names.join(', ');

interface Question {
  readonly frame: MapFrame;
  readonly about: string;
  readonly says: Words;
}
type Asks = (frame: MapFrame) => readonly Omit<Question, 'frame'>[];

const asked = (about: string, says: Words | false): readonly Omit<Question, 'frame'>[] =>
  says ? [{ about, says }] : [];

const guesses: Asks = ({ signals }) => {
  const names = signals.filter(({ standing }) => standing === 'guess').map(({ name }) => name);
  return asked(
    'guesses',
    names.length > 0 && `${names.length} of ${signals.length} signals are guesses: ${listed(names)}`,
  );
};
const moreBits: Asks = ({ signals }) => {
  const open = signals.filter(({ mayExtend }) => (mayExtend?.above ?? 0) + (mayExtend?.below ?? 0) > 0);
  const words = open.map(
    ({ name, mayExtend }) => `${name} (${mayExtend?.above ?? 0} above, ${mayExtend?.below ?? 0} below)`,
  );
  return asked('extent', open.length > 0 && `bits beside these never moved and may belong to them: ${listed(words)}`);
};
const unknownPart: Asks = ({ checksums }) =>
  checksums.flatMap((checksum) =>
    asked(
      'checksum',
      checksum.undetermined.length > 0 && [
        'bits whose part in the rule no recording shows: ',
        mono(undeterminedWords(checksum)),
      ],
    ),
  );
const unsolved: Asks = ({ checksums }) =>
  checksums.flatMap(({ method }) => [
    ...asked('checksum', method === 'unsolved' && 'something guards it, and the rule is not known'),
    ...asked('tag', method === 'mac' && 'a tag depends on a secret: keep the module that sends it'),
  ]);

const doubts: Asks = ({ signals, counters, checksums, selectors }) =>
  [...signals, ...counters, ...checksums, ...selectors].flatMap((claim) => {
    const doubt = doubtOf(claim);
    const name = 'name' in claim ? String(claim.name) : claim.method;
    return asked('doubt', doubt !== null && `${name} ${doubt}`);
  });

/** Pages that the selector could select and no claim speaks of. */
const unseenPages: Asks = ({ selectors, ...frame }) =>
  selectors.flatMap((selector) => {
    const bits = placementLength(selector);
    if (bits > 8) return [];
    const claims = [...frame.signals, ...frame.counters, ...frame.checksums, ...selectors];
    const known = new Set(claims.flatMap(({ when }) => when?.[selector.name] ?? []));
    const unseen = Array.from({ length: 2 ** bits }, (_, raw) => raw).filter((raw) => !known.has(raw));
    const on = selector.when ? ` (on ${describeWhen(selector.when)})` : '';
    return asked(
      'pages',
      unseen.length > 0 && `${selector.name}${on}: nothing is known of the pages ${runsOfNumbers(unseen)}`,
    );
  });
const unclaimed: Asks = ({ unclaimed: left }) => {
  const moving = left.filter(({ reason }) => reason === 'noise' || reason === 'cipher');
  const words = moving.map(({ lsb, length, reason }) => `${length} bits from b${lsb.byte}.${lsb.bit} (${reason})`);
  return asked('moving bits', moving.length > 0 && `bits that move and that no field explains: ${listed(words)}`);
};
const unknownSender: Asks = ({ sender }) => asked('sender', sender === null && 'who sends it is not known');
const noRest: Asks = ({ rest, role }) =>
  asked('rest', rest === null && role !== 'sent-by-part' && 'no payload was recorded at rest: it cannot be sent');

const ASKS: readonly Asks[] = [
  doubts,
  unsolved,
  unknownPart,
  unseenPages,
  unclaimed,
  unknownSender,
  noRest,
  moreBits,
  guesses,
];

export function questionsOf({ map }: Context): Question[] {
  return map.frames.flatMap((frame) => ASKS.flatMap((asks) => asks(frame).map((each) => ({ ...each, frame }))));
}

function needWords({ map }: Context): Words | null {
  const others = map.frames.filter(({ role }) => role !== 'sent-by-part');
  const untested = others.filter(({ need }) => need.verdict === 'untested');
  if (untested.length === 0) return null;
  return `Whether the part needs them was not tried for ${untested.length} of ${others.length} frames of others: only a bench trial tells.`;
}

export function questionsSection(context: Context): Section {
  const needs = needWords(context);
  const rows = questionsOf(context).map(({ frame, about, says }): Cell[] => [
    { words: [mono(`${frame.bus} ${shownId(frame)}`)], link: context.anchorOf(frame) },
    frame.name,
    about,
    says,
  ]);
  return {
    id: 'questions',
    title: 'Open questions',
    blocks: [
      ...(needs ? [{ kind: 'words' as const, words: needs }] : []),
      {
        kind: 'table',
        head: ['frame', 'name', 'about', { name: 'what is open', wide: true }],
        rows,
        otherwise: 'None that the map tells of.',
      },
    ],
  };
}
