/** What the keep-alive plan claims of rhythm and start, against what the simulators know. */
import { wrapped, way } from '../../src/handover/needs/observe/circular.ts';
import { commonAnchor } from '../../src/handover/needs/phase-of.ts';
import type { KeepAlivePlan } from '../../src/handover/needs/types.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import type { Claims } from './support/claims.ts';
import type { NeedsCase, TruePhase } from './needs-cases.ts';

const NONE: Claims = { right: 0, wrong: 0, missed: 0 };
const count = (list: readonly ('right' | 'wrong' | 'missed' | null)[]): Claims =>
  list.reduce((sum, verdict) => (verdict ? { ...sum, [verdict]: sum[verdict] + 1 } : sum), NONE);

/** Greatest common measure of two periods, to a tenth of a millisecond. */
function measure(a: number, b: number): number {
  let [x, y] = [Math.round(a * 10), Math.round(b * 10)];
  while (y > 0) [x, y] = [y, x % y];
  return x / 10;
}

const tellWrong = (text: string): void => {
  if (process.env['LOOMSCRIBE_SHOW_WRONG']) console.log(text);
};

/** Key of what the plan counts the frames of a sender from. */
function anchorOf({ map, observations }: NeedsCase, group: string | null): string {
  const own = map.frames.filter(({ role, sender }) => role !== 'sent-by-part' && sender?.group === group);
  return commonAnchor(own, observations) ?? '';
}

type Verdict = 'right' | 'wrong' | 'missed' | null;

interface Told {
  readonly key: string;
  readonly group: string | null;
  readonly phaseMs: number | null;
  readonly truth: TruePhase | undefined;
}

/** What a phase is held against: the anchor where its truth is known, else another frame of the sender; null where there is none. */
function standardOf(given: NeedsCase, own: Told, all: readonly Told[]): Told | null {
  const anchorKey = anchorOf(given, own.group);
  if (anchorKey === own.key) return null;
  const known = (each: Told): boolean => each.phaseMs !== null && each.truth !== undefined && each.key !== own.key;
  const truth = given.phases.get(anchorKey);
  if (truth) return { key: anchorKey, group: own.group, phaseMs: 0, truth };
  return all.find((each) => each.group === own.group && known(each)) ?? null;
}

function judgePhase(given: NeedsCase, own: Told, all: readonly Told[]): Verdict {
  const { phaseMs, truth } = own;
  if (!truth) return null;
  if (phaseMs === null) return truth.offsetMs === null ? null : 'missed';
  const standard = standardOf(given, own, all);
  if (!standard?.truth) return null;
  const other = standard.truth;
  if (truth.offsetMs === null || other.offsetMs === null || other.module !== truth.module) return 'wrong';
  const modulus = measure(truth.periodMs, other.periodMs);
  const due = wrapped(truth.offsetMs - other.offsetMs, modulus);
  const apart = Math.abs(way(due, phaseMs - (standard.phaseMs ?? 0), modulus));
  return apart <= Math.max(truth.slackMs, other.slackMs) ? 'right' : 'wrong';
}

const isSenderless = ({ map }: NeedsCase, key: string): boolean =>
  map.frames.some((frame) => frameKey(frame) === key && frame.sender === null);

/** Planned frames with a rhythm, whose sender is not known. */
export const senderless = (given: NeedsCase): number =>
  given.map.frames.filter(
    (frame) => frame.role !== 'sent-by-part' && frame.sender === null && given.phases.has(frameKey(frame)),
  ).length;

/** Anchors have the phase 0 by definition and count neither way; so do frames that the plan does not hold. */
export function scorePhases(given: NeedsCase, { frames }: KeepAlivePlan): Claims {
  const all = frames.map(({ frame, phaseMs }): Told => {
    const key = frameKey(frame);
    return { key, group: frame.sender?.group ?? null, phaseMs, truth: given.phases.get(key) };
  });
  return count(
    all.map((own, at) => {
      const verdict = isSenderless(given, own.key) ? null : judgePhase(given, own, all);
      if (verdict === 'wrong')
        tellWrong(
          `phase of ${own.key}: ${own.phaseMs} ms, ${JSON.stringify(own.truth)} against ${JSON.stringify(standardOf(given, own, all))}`,
        );
      if (verdict === 'missed')
        tellWrong(`no phase of ${own.key}: ${frames[at]?.phaseWhy}; ${JSON.stringify(own.truth)}`);
      return verdict;
    }),
  );
}

/** Pairs of one bus whose starts cannot overlap. */
export function scoreOrder({ starts }: NeedsCase, { frames }: KeepAlivePlan): Claims {
  const told = frames.flatMap(({ frame, order }) => {
    const start = starts.get(frameKey(frame));
    return start ? [{ bus: frame.bus, start, order }] : [];
  });
  return count(
    told.flatMap((a, at) =>
      told.slice(at + 1).map((b) => {
        const [first, second] = a.start[1] < b.start[0] ? [a, b] : [b, a];
        if (a.bus !== b.bus || first.start[1] >= second.start[0]) return null;
        if (first.order === null || second.order === null) return 'missed';
        return first.order < second.order ? 'right' : 'wrong';
      }),
    ),
  );
}

/** Reasons by order, against the starts of the part's own frames. */
export function scoreOrderReasons({ starts, map }: NeedsCase, { frames }: KeepAlivePlan): Claims {
  const own = map.frames.filter(({ role }) => role === 'sent-by-part');
  return count(
    frames.map(({ frame, reasons }) => {
      const start = starts.get(frameKey(frame));
      const part = own.flatMap((each) => (each.bus === frame.bus ? [starts.get(frameKey(each))] : []));
      const known = part.filter((each) => each !== undefined);
      if (!start || known.length === 0) return null;
      const [least, most] = [Math.min(...known.map(([low]) => low)), Math.min(...known.map(([, high]) => high))];
      const due = start[1] < least ? 'needed' : start[0] > most ? 'not-needed' : null;
      const said = reasons.find(({ kind }) => kind === 'order')?.speaksFor ?? null;
      if (due === null) return null;
      return said === null ? 'missed' : said === due ? 'right' : 'wrong';
    }),
  );
}
