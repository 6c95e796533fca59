/**
 * What to change where the logger lost frames, and a short trial that shows whether it helped. A logger that is too slow loses by how much it hears:
 * one bus at a time, or half of a bus by its controller's acceptance filter (a mask and a code over the identifier, which controllers of CAN have;
 * common practice, no source), so that what it leaves out never reaches the logger. Half too much still: the trial, asked again, is halved again. Where the logger
 * paused, hearing less does not help: another computer must.
 */
import type { SurveyFrame } from '../../timing/types.ts';
import { powerDown, powerUp, still, UNTIL_SILENT, wordsOf, lastsOf } from './card-rows.ts';
import { PAUSE_MOST_S } from './loss-needs.ts';
import type { Mark } from '../../actions/types.ts';
import type { AcceptFilter, DonorCan, Need, NextRecording, RunCardStep } from './types.ts';

const EXTENDED_BITS = 29;
/** Most is sent with all awake; in so long a thousandth of the frames of a busy bus are dozens. */
const TRIAL_S = 40;

type Heard = Pick<SurveyFrame, 'bus' | 'id' | 'extended' | 'medianIntervalMs' | 'direction'>;

interface Part {
  readonly name: string;
  readonly hears: readonly AcceptFilter[];
  readonly perS: number;
}

const rateOf = (heard: readonly Heard[]): number =>
  heard.reduce((sum, { medianIntervalMs }) => sum + (medianIntervalMs ? 1000 / medianIntervalMs : 0), 0);

export const accepts = (
  { bus, extended, mask, code }: AcceptFilter,
  frame: Pick<Heard, 'bus' | 'id' | 'extended'>,
): boolean =>
  frame.bus === bus &&
  (extended === null || extended === frame.extended) &&
  (Number(frame.id) & Number(mask)) === Number(code);

const hex = (value: number): string => `0x${value.toString(16).toUpperCase()}`;
const everythingOf = (bus: string): AcceptFilter => ({ bus, extended: null, mask: '0x0', code: '0x0' });

/** Halves of a bus by one bit of the identifier, or by its kind; the pair whose greater half is least. Null where nothing divides it. */
function halvesOf(bus: string, heard: readonly Heard[]): readonly [Part, Part] | null {
  const kinds: AcceptFilter[][] = [false, true].map((extended) => [{ ...everythingOf(bus), extended }]);
  const byBit = Array.from({ length: EXTENDED_BITS }, (_, bit) =>
    [0, 2 ** bit].map((code): AcceptFilter[] => [{ bus, extended: null, mask: hex(2 ** bit), code: hex(code) }]),
  );
  const pairs = [kinds, ...byBit].map((pair) =>
    pair.map((hears): Part => {
      const [filter] = hears as [AcceptFilter];
      const own = heard.filter((frame) => accepts(filter, frame));
      return { name: filterName(filter), hears, perS: rateOf(own) };
    }),
  );
  const greater = (pair: readonly Part[]): number => Math.max(...pair.map(({ perS }) => perS));
  const best = pairs.reduce((least, pair) => (greater(pair) < greater(least) ? pair : least));
  return greater(best) < rateOf(heard) ? (best as unknown as readonly [Part, Part]) : null;
}

function filterName({ bus, extended, mask, code }: AcceptFilter): string {
  if (extended !== null) return `${bus}, ${extended ? '29' : '11'}-bit identifiers`;
  return `${bus}, identifiers with mask ${mask} and code ${code}`;
}

/** One bus at a time; of one bus, half at a time. */
export function partsOf(frames: readonly Heard[]): readonly Part[] {
  const heard = frames.filter(({ direction }) => direction === 'received');
  const buses = [...new Set(heard.map(({ bus }) => bus))].sort();
  const [only] = buses;
  if (only === undefined) return [];
  if (buses.length === 1) return halvesOf(only, heard) ?? [];
  return buses.map((bus) => ({
    name: `${bus} alone`,
    hears: [everythingOf(bus)],
    perS: rateOf(heard.filter((frame) => frame.bus === bus)),
  }));
}

function trialCard(marks: readonly Mark[], donor: DonorCan): RunCardStep[] {
  const words = wordsOf(marks);
  return [
    still('Start the logger, touch nothing', 5),
    ...powerUp(words, donor),
    still('Touch nothing', TRIAL_S),
    ...powerDown(words, donor),
    UNTIL_SILENT,
  ];
}

const ANOTHER =
  'Another computer or another logger: nothing else running on it, the file on a disk of its own, no window that draws each frame.';

/** Recordings that show what the logger can take, before anything else is recorded with it. */
export function loggerTrials(
  need: Need,
  frames: readonly Heard[],
  marks: readonly Mark[],
  donor: DonorCan,
): readonly NextRecording[] {
  const card = trialCard(marks, donor);
  const trial = { card, settles: [need.key], lastsS: lastsOf(card) };
  const parts = (need.figures['longestPauseS'] ?? 0) > PAUSE_MOST_S ? [] : partsOf(frames);
  const all = Math.round(rateOf(frames.filter(({ direction }) => direction === 'received')));
  if (parts.length === 0)
    return [
      {
        ...trial,
        title: 'Trial of another logger',
        logger: `It lost frames. ${ANOTHER}`,
        says: 'Settles frames-lost where nothing is missing in it: make all further recordings with what was used here.',
      },
    ];
  return parts.map(({ name, hears, perS }) => ({
    ...trial,
    title: `Trial of the logger: ${name}`,
    logger: `It lost frames. Let it hear ${name}, by its acceptance filter, beside any filter that is set already. ${ANOTHER.split(':')[0]} may take all at once.`,
    says: `Settles frames-lost for that part where nothing is missing in it: about ${Math.round(perS)} of ${all} frames a second. Missing still: ask again of this trial, and halve again. What lost nothing is how to make all further recordings, one after another by the same card.`,
    hears,
  }));
}
