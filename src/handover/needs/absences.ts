/**
 * What a module's absence says of the part's needs. A module sends many frames: that the part reacts when all of them are missing shows that one of
 * them is needed, not which. Only where a single frame was missing, the part alone reacted and surely so, is that frame's need shown.
 */
import { namesOf } from '../../kit/few-names.ts';
import { frameKey } from '../../map/identifiers.ts';
import { lostCodeWords } from './lost-partners.ts';
import type { CaptureObservations, LostCode } from './observe/types.ts';
import type { FrameKey, NeedReason } from './types.ts';

/** How a frame of another sender answers the absence. */
export interface SeenReaction extends FrameKey {
  /** "slower", "no data": for a person. */
  readonly how: string;
  /** 0..1. */
  readonly confidence: number;
  readonly words: string;
}

/** A recording with a module missing, held against one with it. Buses are called as the map calls them. */
export interface AbsenceSeen {
  /** What was missing, as the person calls it. */
  readonly name: string;
  /** Id or title of the capture without it. */
  readonly capture: string;
  /** Of that capture. */
  readonly lastsS: number;
  /** Frames that fell silent with it, copies by a gateway included. */
  readonly missing: readonly FrameKey[];
  /** Silent too, and the reason may lie elsewhere. */
  readonly undecided: readonly FrameKey[];
  readonly reactions: readonly SeenReaction[];
  readonly observations: CaptureObservations;
}

/** What the plan needs to judge by. */
export interface AbsenceSetting {
  /** Keys of the frames that the part sends, and of those that are planned. */
  readonly ofPart: ReadonlySet<string>;
  readonly planned: ReadonlySet<string>;
  /** Captures in which nothing was missing. */
  readonly whole: readonly CaptureObservations[];
}

export interface AbsenceVerdict {
  readonly verdict: 'required';
  readonly how: 'absence' | 'lost-communication-code';
  readonly capture: string;
}

export interface AbsenceSays {
  /** By key of a planned frame. */
  readonly reasons: ReadonlyMap<string, NeedReason>;
  readonly codes: ReadonlyMap<string, NeedReason>;
  /** Of the one frame that was missing, where its need is shown. */
  readonly shown: { readonly key: string; readonly verdict: AbsenceVerdict } | null;
  readonly open: readonly string[];
}

/** A reaction must be as sure as this to show a need by itself. */
const SURE = 0.9;
/** Below this a reaction is no reason. */
const LIKELY = 0.5;

const frames = (n: number): string => (n === 1 ? 'the one frame' : `these ${n} frames`);

function reactionWords(reactions: readonly SeenReaction[]): string {
  const [first] = [...reactions].sort((a, b) => b.confidence - a.confidence);
  if (!first) return '';
  const more = reactions.length > 1 ? `, and ${reactions.length - 1} more of its frames` : '';
  return `${first.id} (${first.how}: ${first.words})${more}`;
}

/** Codes of the part that no whole capture had; `isNew` where the part was asked there as well. */
function newCodes({ observations }: AbsenceSeen, { ofPart, whole }: AbsenceSetting): (LostCode & { isNew: boolean })[] {
  return observations.lostCodes
    .filter((code) => ofPart.has(frameKey(code)))
    .filter((code) => !whole.some(({ lostCodes }) => lostCodes.some((old) => isSame(old, code))))
    .map((code) => ({
      ...code,
      isNew: whole.some(({ askedForFaults }) => askedForFaults.some((key) => frameKey(key) === frameKey(code))),
    }));
}

const isSame = (a: LostCode, b: LostCode): boolean => a.code === b.code && frameKey(a) === frameKey(b);

interface Weighed {
  readonly words: string;
  readonly speaksFor: NeedReason['speaksFor'];
  readonly isSure: boolean;
}

/** What the part's own frames say; null where the capture does not tell. */
function weigh(absence: AbsenceSeen, { ofPart }: AbsenceSetting, missing: readonly FrameKey[]): Weighed | null {
  const { name, reactions, observations, lastsS } = absence;
  const one = missing.length === 1 ? 'it needs it' : `it needs one of ${frames(missing.length)}`;
  const silent = absence.missing.filter((key) => ofPart.has(frameKey(key)));
  if (silent.length > 0)
    return {
      speaksFor: 'needed',
      isSure: false,
      words: `with ${name} missing, ${namesOf(silent)} of the part fell silent too: ${one}, or it lost its supply with it`,
    };
  const own = reactions.filter((each) => ofPart.has(frameKey(each)) && each.confidence >= LIKELY);
  if (own.length > 0) {
    const others = reactions.filter((each) => !ofPart.has(frameKey(each)) && each.confidence >= LIKELY).length;
    const through = others > 0 ? `, or what ${others} other frames that react then say` : '';
    return {
      speaksFor: 'needed',
      isSure: others === 0 && own.some(({ confidence }) => confidence >= SURE),
      words: `with ${name} missing, the part reacts by ${reactionWords(own)}: ${one}${through}`,
    };
  }
  const heard = observations.frames.filter((frame) => ofPart.has(frameKey(frame)));
  if (heard.length === 0) return null;
  return {
    speaksFor: 'not-needed',
    isSure: false,
    words: `with ${name} missing for ${Math.round(lastsS)} s, the ${heard.length} frames of the part that were heard went on as before, as far as the two recordings compare`,
  };
}

function codeReason(absence: AbsenceSeen, codes: readonly (LostCode & { isNew: boolean })[], n: number): NeedReason {
  const told = codes.map(({ code, isFailing }) => `${lostCodeWords(code)}${isFailing ? ', failing' : ', stored'}`);
  const fresh = codes.every(({ isNew }) => isNew)
    ? 'not there in a recording with it'
    : 'whether they were there before was not asked';
  return {
    kind: 'lost-communication-code',
    capture: absence.capture,
    speaksFor: 'needed',
    words: `with ${absence.name} missing, the part tells ${told.join('; ')}; ${fresh}: it misses ${n === 1 ? 'this frame' : `one of ${frames(n)}`}`,
  };
}

/** Codes of modules that may be the part, where the map does not say who answers for it. */
function strangersOpen({ observations, name }: AbsenceSeen, { ofPart }: AbsenceSetting): string[] {
  const strange = observations.lostCodes.filter((code) => !ofPart.has(frameKey(code)));
  const ids = [...new Set(strange.map(({ id }) => id))];
  return ids.map((id) => {
    const told = strange.filter((code) => code.id === id).map(({ code }) => lostCodeWords(code));
    return `With ${name} missing, the module that answers at ${id} tells ${told.join('; ')}. If that is the part, mark ${id} as sent by it, and the plan takes it as a reason.`;
  });
}

export function absenceSays(absence: AbsenceSeen, setting: AbsenceSetting): AbsenceSays {
  const missing = absence.missing.filter((key) => setting.planned.has(frameKey(key)));
  const open = strangersOpen(absence, setting);
  const [reasons, codes] = [new Map<string, NeedReason>(), new Map<string, NeedReason>()];
  if (missing.length === 0) {
    const why =
      absence.missing.length > 0 ? 'only frames of the part itself fell silent' : 'no frame of the map fell silent';
    return {
      reasons,
      codes,
      shown: null,
      open: [...open, `${absence.name} (${absence.capture}): ${why}, so it tells nothing of what the part needs.`],
    };
  }
  const weighed = weigh(absence, setting, missing);
  const lost = newCodes(absence, setting);
  if (weighed === null)
    open.push(
      `${absence.name} (${absence.capture}): no frame of the part was heard in it, so it tells nothing of what the part needs.`,
    );
  for (const key of missing.map(frameKey)) {
    const { speaksFor, words } = weighed ?? { speaksFor: 'needed', words: '' };
    const contradicted = speaksFor === 'not-needed' && lost.length > 0;
    if (weighed && !contradicted) reasons.set(key, { kind: 'absence', capture: absence.capture, speaksFor, words });
    if (lost.length > 0) codes.set(key, codeReason(absence, lost, missing.length));
  }
  return { reasons, codes, shown: shownBy(absence, missing, weighed, lost), open };
}

/** All else equal, as far as two recordings show it: one frame missing, nothing in doubt, nobody else reacts. */
function shownBy(
  { capture, undecided, missing: all }: AbsenceSeen,
  missing: readonly FrameKey[],
  weighed: Weighed | null,
  lost: readonly (LostCode & { isNew: boolean })[],
): AbsenceSays['shown'] {
  const [only] = missing;
  if (!only || all.length !== 1 || undecided.length > 0) return null;
  const key = frameKey(only);
  if (lost.some(({ isFailing, isNew }) => isFailing && isNew))
    return { key, verdict: { verdict: 'required', how: 'lost-communication-code', capture } };
  return weighed?.isSure ? { key, verdict: { verdict: 'required', how: 'absence', capture } } : null;
}
