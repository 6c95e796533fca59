/**
 * What became of each sender group of the first capture in the second, in words: the group as the place shows it, with letters and
 * members that a person may have settled; the comparison knows the identifiers.
 */
import type { Absent, ComparedFrame, Reaction } from '../../proof/compare/types.ts';
import type { SurveyGroup } from '../../timing/types.ts';
import { displayId } from '../../kit/units.ts';
import { period } from '../../kit/sheet-figures.ts';

export type FateKind = 'silent' | 'partly silent' | 'reacts' | 'stays';

export interface Fate {
  /** null: identifiers without a sender group. */
  readonly group: string | null;
  readonly name: string | null;
  readonly kind: FateKind;
  readonly words: string;
  /** At the right: periods, or whether the grouping agrees. */
  readonly aside: string;
  /** The identifiers that the words speak of. */
  readonly frames: readonly ComparedFrame[];
}

const SHOWN = 3;

export const shownId = ({ id, extended }: Pick<ComparedFrame, 'id' | 'extended'>): string =>
  displayId(Number(id), extended);
const keyOf = ({ bus, id, extended }: ComparedFrame): string => `${bus}/${id}/${extended}`;

export function listIds(frames: readonly ComparedFrame[], shown = SHOWN): string {
  const ids = frames.slice(0, shown).map(shownId).join(', ');
  return frames.length > shown ? `${ids} and ${frames.length - shown} more` : ids;
}

const SAID: Readonly<Record<Reaction['how'], readonly [one: string, many: string]>> = {
  slower: ['slows down', 'slow down'],
  faster: ['comes faster', 'come faster'],
  'stopped later': ['stops later', 'stop later'],
  'stops with it': ['stops with it', 'stop with it'],
  starts: ['starts', 'start'],
  'no data': ['says “no data”', 'say “no data”'],
  'another constant': ['holds another constant', 'hold another constant'],
  'became constant': ['became constant', 'became constant'],
  frozen: ['froze', 'froze'],
  'flag began': ['sets a flag', 'set a flag'],
  unanswered: ['asks without an answer', 'ask without an answer'],
};

export const saidOf = (how: Reaction['how'], n: number): string => SAID[how][n === 1 ? 0 : 1];

/** "10 → 40 ms" */
export function changeWords(reactions: readonly Reaction[]): string {
  const [first] = reactions;
  if (reactions.length !== 1 || first?.periodMsA === undefined || first.periodMsB === undefined) return '';
  const [before, after] = [period(first.periodMsA), period(first.periodMsB)];
  const unit = before.split(' ')[1];
  return unit === after.split(' ')[1] ? `${before.split(' ')[0]} → ${after}` : `${before} → ${after}`;
}

function reactingFate(members: number, reactions: readonly Reaction[]): Pick<Fate, 'words' | 'aside' | 'frames'> {
  const kinds = [...new Set(reactions.map(({ how }) => how))];
  const parts = kinds.map((how) => {
    const own = reactions.filter((reaction) => reaction.how === how);
    return `${own.length} of ${members} ${saidOf(how, own.length)}: ${listIds(own)}`;
  });
  return { words: parts.join('; '), aside: changeWords(reactions), frames: reactions };
}

interface Members {
  readonly group: string | null;
  readonly name: string | null;
  readonly members: readonly ComparedFrame[];
}

function fateOf({ group, name, members }: Members, absent: Absent): Fate {
  const own = new Set(members.map(keyOf));
  const silent = absent.sentBy.filter((frame) => own.has(keyOf(frame)));
  const reactions = absent.reacts.filter((frame) => own.has(keyOf(frame)));
  const base = { group, name };
  if (silent.length > 0) {
    const whole = silent.length === members.length;
    const fall = `${silent.length === 1 ? 'falls' : 'fall'} silent`;
    if (group === null)
      return { ...base, kind: 'silent', words: `${listIds(silent)} ${fall}`, aside: '', frames: silent };
    const words = `${silent.length} of ${members.length} ${fall}`;
    const aside = whole ? 'as grouped' : 'not all of its group';
    const listed = whole ? words : `${words}: ${listIds(silent)}`;
    return { ...base, kind: whole ? 'silent' : 'partly silent', words: listed, aside, frames: silent };
  }
  if (reactions.length > 0) return { ...base, kind: 'reacts', ...reactingFate(members.length, reactions) };
  return { ...base, kind: 'stays', words: members.length === 1 ? 'stays' : 'all stay', aside: '', frames: [] };
}

const ORDER: readonly FateKind[] = ['silent', 'partly silent', 'reacts', 'stays'];

/** Silent ones first, then who reacts, then who stays. @param identifiers all that the first capture received */
export function fatesOf(
  groups: readonly Pick<SurveyGroup, 'group' | 'name' | 'members'>[],
  identifiers: readonly ComparedFrame[],
  absent: Absent,
): Fate[] {
  const grouped = new Set(groups.flatMap(({ members }) => members.map(keyOf)));
  const loose = identifiers.filter((frame) => !grouped.has(keyOf(frame)));
  const all: Members[] = groups.map(({ group, name, members }) => ({ group, name: name ?? null, members }));
  if (loose.length > 0) all.push({ group: null, name: null, members: loose });
  const fates = all.map((each) => fateOf(each, absent));
  return fates
    .filter(({ group, kind }) => group !== null || kind !== 'stays')
    .sort((x, y) => ORDER.indexOf(x.kind) - ORDER.indexOf(y.kind));
}

/** What to look at next, where something reacts; null where nothing does. */
export function nextLook(reacts: readonly Reaction[], partName: string): string | null {
  const slower = reacts.filter(({ how }) => how === 'slower');
  if (slower.length > 0)
    return `${listIds(slower)} may wait for ${possessive(partName)} answer. Worth a look in Payloads.`;
  const without = reacts.filter(({ how }) => how === 'no data');
  if (without.length > 0)
    return `${listIds(without)} ${without.length === 1 ? 'carries' : 'carry'} what ${partName} measures. Worth a look in Payloads.`;
  return null;
}

const possessive = (name: string): string => (name.endsWith('s') ? `${name}’` : `${name}’s`);

const ROLE_WORDS = /\b(is |was )?(unplugged|disconnected|removed|missing|plug off)\b|\bwithout\b/gi;

/** "the inverter" from "inverter unplugged"; "the missing module" where the role names none. */
export function partNamed(role: string): string {
  const rest = role
    .replace(ROLE_WORDS, '')
    .replace(/\s+/g, ' ')
    .trim()
    .replace(/^(a|the) /i, '');
  return rest === '' || rest.toLowerCase() === 'module' ? 'the missing module' : `the ${rest}`;
}
