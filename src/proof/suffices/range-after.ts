/**
 * How far that went which follows from an action: speeds behind an accelerator. Nobody touches these, so no end stop shows; but whoever laid out a
 * payload gave a value no more bits than it may need, up to about a sixteenth of spare at the finest scales (common practice, no source). Where all that follows
 * stayed in a small corner of its bits, counting those above that never moved, the vehicle hardly did what was done: walking pace on a drive.
 */
import { CLAIM_Q } from '../../actions/claims.ts';
import type { Link, LinkReport, Mark } from '../../actions/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import { bitPositions, nextBit, type Placement } from '../../frames/bits.ts';
import type { FrameTable } from '../../frames/table.ts';
import { fieldKey, seriesOf, type Candidate } from '../../map/proposed-fields.ts';
import { topicOf } from './card-rows.ts';
import { candidatesByKey, directLinks, pressesOf, reachedOf, END_PRESSES } from './range-needs.ts';
import type { Need } from './types.ts';

/** What follows and says nothing of the range may be one odd value; two that agree are not. */
const FOLLOWERS_LEAST = 2;
const FOLLOWERS_MOST = 12;
/** Half the spare that a layout has at most, and what walking pace leaves of a drive's speed. */
const SMALL_SHARE = 1 / 32;
/** Of a value's frames, those left out at either end: what it shows before there is a value. */
const TAIL = 0.005;

/** Bits above a field up to its byte's border that never moved and are nobody's: its own, for all that anybody knows. */
function spareAbove(finding: FrameFindings, place: Placement): number {
  const claimed = new Set(
    [finding.fields, finding.counters, finding.checksums, finding.selectors].flatMap((all) =>
      all.flatMap((each) => bitPositions(each as Placement)),
    ),
  );
  const top = bitPositions(place).at(-1) as number;
  let spare = 0;
  for (let at = nextBit(top, 1, place.order); at >> 3 === top >> 3; at = nextBit(at, 1, place.order)) {
    if (claimed.has(at) || finding.bits.changeShare[at]) return 0;
    spare++;
  }
  return spare;
}

interface Follower {
  readonly link: Link;
  /** Of its range, as many bits as it may have. */
  readonly share: number;
}

function shareOf(candidate: Candidate, spare: number): number | null {
  const { value } = seriesOf(candidate);
  if (value.length === 0) return null;
  const sorted = value.slice().sort();
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number;
  const bits = bitPositions(candidate.field).length + spare;
  return (at(1 - TAIL) - at(TAIL)) / (2 ** bits - 1);
}

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] as number;
};

function needOf(action: string, followers: readonly Follower[]): Need {
  const share = median(followers.map((each) => each.share));
  const [widest] = [...followers].sort((a, b) => b.share - a.share) as [Follower];
  const percent = `${(100 * share).toPrecision(2)} %`;
  const isSmall = share < SMALL_SHARE;
  const { bus, id, extended, field } = widest.link;
  return {
    key: `range after ${action}`,
    what: 'range',
    about: `what follows "${action}"`,
    verdict: isSmall ? 'short' : 'enough',
    figures: { followers: followers.length, medianShare: share, widestShare: widest.share },
    says: isSmall
      ? `${followers.length} values that follow moved in ${percent} of what their bits can hold (${id} ${field} in most): as at walking pace. Drive faster.`
      : `${followers.length} values that follow moved in ${percent} of what their bits can hold.`,
    at: { bus, id, extended },
  };
}

function followersOf(
  findings: readonly FrameFindings[],
  marks: readonly Mark[],
  links: readonly Link[],
  known: ReadonlyMap<string, Candidate>,
  action: string,
): Follower[] {
  const direct = new Set(directLinks(links).map(fieldKey));
  const sure = links.filter((link) => link.q <= CLAIM_Q && !link.isPace && !direct.has(fieldKey(link)));
  const named = new Map(sure.map((link) => [fieldKey(link), link]));
  const presses = pressesOf(marks, action);
  const followers: Follower[] = [];
  for (const [key, link] of named) {
    const candidate = known.get(key);
    const finding = findings.find(
      (each) => each.bus === link.bus && each.id === link.id && each.extended === link.extended,
    );
    if (!candidate || !finding || candidate.field.kind !== 'number' || candidate.field.coding === 'float') continue;
    const share = shareOf(candidate, spareAbove(finding, candidate.field));
    if (!share) continue;
    // What came to rest at one and the same end is at the end, however much room is above it.
    const reached = reachedOf(seriesOf(candidate), presses, Math.sign(link.effect) || 1);
    const isEnded = reached !== null && reached.held >= END_PRESSES;
    followers.push({ link, share: isEnded ? Math.max(share, SMALL_SHARE) : share });
    if (followers.length === FOLLOWERS_MOST) break;
  }
  return followers;
}

/** Nothing that follows: no module may send it, or it hardly moved. */
const untoldOf = (action: string, followers: number): Need => ({
  key: `range after ${action}`,
  what: 'range',
  about: `what follows "${action}"`,
  verdict: 'cannot-tell',
  figures: { followers },
  says: `${followers === 0 ? 'No value' : 'One value only'} surely follows: nobody sends it, or the vehicle hardly moved.`,
});

/** Of accelerators; where fewer than two values follow, that is all that can be said. */
export function rangesAfter(
  table: FrameTable,
  findings: readonly FrameFindings[],
  marks: readonly Mark[],
  links: LinkReport,
): readonly Need[] {
  const known = candidatesByKey(table, findings);
  return links.actions
    .filter(({ action }) => topicOf(action) === 'accelerator')
    .flatMap(({ action, links: all }) => {
      const followers = followersOf(findings, marks, all, known, action);
      if (followers.length >= FOLLOWERS_LEAST) return [needOf(action, followers)];
      return pressesOf(marks, action).length >= END_PRESSES ? [untoldOf(action, followers.length)] : [];
    });
}
