/**
 * Which set of frames to send next, from all answers so far, until a set remains from which none can be left out. Worked out anew from the answers
 * each time: an answer more, or one set aside, and the search stands where it would have stood. It takes for granted that a set that works still does
 * with more frames sent.
 */
import { holdsAll, sameSet, type Answer, type Candidate } from './answers.ts';
import { confirmNeeded } from './confirm-needed.ts';
import { runRound } from './round.ts';

export type Aim =
  /** Everything: does it work at all? */
  | 'everything'
  /** Nothing: what does the module show then? */
  | 'nothing'
  /** Everything again behind trials that failed: did a fault stay? */
  | 'control'
  | 'search'
  /** Everything does not work: does this set, which leaves out what may disturb? */
  | 'subset'
  /** The set found, watched for longer. */
  | 'enough'
  | 'needed'
  | 'replaceable';

export type SearchStep =
  | { readonly kind: 'ask'; readonly aim: Aim; readonly sent: ReadonlySet<string>; readonly known: readonly string[] }
  | { readonly kind: 'found'; readonly needed: readonly string[]; readonly replaceable: readonly string[] }
  /** With everything sent it does not work: more trials of frames would tell nothing. */
  | { readonly kind: 'nothing-works'; readonly tried: number };

export interface SearchInput {
  readonly candidates: readonly Candidate[];
  readonly answers: readonly Answer[];
  /** The set found must have worked in one trial watched for so long, seconds. */
  readonly longWatchS: number;
}

/** Answers that are not those of the set sent: so many of so many are taken for granted before any. */
const ERRORS_BEFORE = { wrong: 1, of: 20 };
const ERROR_RATE = { least: 0.03, most: 0.2 };
/** A frame that was found not to be needed. */
const REFUTED_LIKELIHOOD = 0.01;
/** No answers settle that a frame is found and refuted by turns for ever. */
const MOST_TURNS = 60;

const workingShare = (answers: readonly Answer[], sent: ReadonlySet<string>): { works: number; fails: number } => {
  const of = answers.filter((answer) => sameSet(answer.sent, sent));
  const works = of.filter((answer) => answer.works).length;
  return { works, fails: of.length - works };
};

function order(candidates: readonly Candidate[], refuted: ReadonlySet<string>): Candidate[] {
  const last = candidates.filter(({ key }) => refuted.has(key));
  const rest = candidates.filter(({ key }) => !refuted.has(key));
  return [...rest, ...last.map((each) => ({ ...each, likelihood: REFUTED_LIKELIHOOD }))];
}

function searchWith(input: SearchInput, all: ReadonlySet<string>, errorRate: number): SearchStep {
  const { candidates, answers, longWatchS } = input;
  const refuted = new Set<string>();
  let known = new Set<string>();
  let rest: readonly Candidate[] = candidates;
  let mayLackOthers = false;
  const widen = (): void => {
    rest = order(candidates, refuted).filter(({ key }) => !known.has(key));
    mayLackOthers = false;
  };
  const ask = (aim: Aim, sent: ReadonlySet<string>): SearchStep => ({ kind: 'ask', aim, sent, known: [...known] });
  for (let turn = 0; turn < MOST_TURNS; turn++) {
    const end = runRound({ known, rest, mayLackOthers, answers, errorRate });
    if (end.kind === 'ask')
      return ask('search', new Set([...known, ...rest.slice(0, end.first).map(({ key }) => key)]));
    if (end.kind === 'lacks-others') {
      widen();
      continue;
    }
    if (end.kind === 'found') {
      known = new Set([...known, (rest[end.index] as Candidate).key]);
      rest = rest.slice(0, end.index);
      mayLackOthers = true;
      continue;
    }
    const replaceable: string[] = [];
    let wrong: string | null = null;
    for (const key of known) {
      const confirmed = confirmNeeded({ key, set: known, all, answers, errorRate });
      if (confirmed.kind === 'ask') return ask(confirmed.aim, confirmed.sent);
      if (confirmed.kind === 'not-needed') {
        wrong = key;
        break;
      }
      if (confirmed.replaceable) replaceable.push(key);
    }
    if (wrong !== null) {
      refuted.add(wrong);
      known = new Set([...known].filter((key) => key !== wrong));
      widen();
      continue;
    }
    const isWatched = answers.some(
      (answer) => answer.works && answer.watchedS >= longWatchS && sameSet(answer.sent, known),
    );
    if (!isWatched) return ask('enough', known);
    return { kind: 'found', needed: [...known], replaceable };
  }
  return ask('enough', known);
}

/** How many answers contradict what a set was found to do. */
function contradictions(
  answers: readonly Answer[],
  works: ReadonlySet<string>,
  replaceable: readonly string[],
): number {
  const strict = [...works].filter((key) => !replaceable.includes(key));
  return answers.filter((answer) => {
    const holds = holdsAll(answer.sent, works);
    const fails = !holdsAll(answer.sent, strict);
    return (holds && !answer.works) || (fails && answer.works);
  }).length;
}

const knownOf = (step: SearchStep): readonly string[] =>
  step.kind === 'ask' ? step.known : step.kind === 'found' ? step.needed : [];

/** Chance that an answer is not that of the set sent, from answers that contradict what is known by now. */
export function errorRateOf(input: SearchInput, step: SearchStep): number {
  const replaceable = step.kind === 'found' ? step.replaceable : [];
  const isWhole = step.kind === 'found';
  const all = new Set(input.candidates.map(({ key }) => key));
  const judged = isWhole ? new Set(knownOf(step)) : all;
  const wrong = contradictions(
    input.answers,
    judged,
    isWhole ? replaceable : [...all].filter((key) => !knownOf(step).includes(key)),
  );
  const { least, most } = ERROR_RATE;
  return Math.min(most, Math.max(least, (ERRORS_BEFORE.wrong + wrong) / (ERRORS_BEFORE.of + input.answers.length)));
}

/** Everything did not work so often more than it did: settled. */
const SETTLED_BY = 4;

/** Cost: O(answers x candidates) for each frame found. */
export function nextInSearch(input: SearchInput): SearchStep {
  const all = new Set(input.candidates.map(({ key }) => key));
  const nothing = new Set<string>();
  const everything = workingShare(input.answers, all);
  if (everything.fails - everything.works >= SETTLED_BY)
    return { kind: 'nothing-works', tried: everything.fails + everything.works };
  if (everything.works <= everything.fails) return { kind: 'ask', aim: 'everything', sent: all, known: [] };
  const bare = workingShare(input.answers, nothing);
  if (bare.works + bare.fails === 0) return { kind: 'ask', aim: 'nothing', sent: nothing, known: [] };
  const first = searchWith(input, all, ERRORS_BEFORE.wrong / ERRORS_BEFORE.of);
  return searchWith(input, all, errorRateOf(input, first));
}
