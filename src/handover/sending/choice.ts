/**
 * Which frames may be in an export for sending. What the part sends itself never is: two senders of one identifier fight. What cannot be produced
 * never is. Of the others a frame is in only if a bench showed it harmless, or if a person released it by its own name; one with a
 * signal that may move the machine or switch its battery only if it was released, whatever was shown.
 *
 * Nothing is harmless by its kind. Network management and a tester's presence look innocent, yet they keep a module awake, and an awake module may close
 * contactors of its own accord; and that a frame is one of them is only a reading of recordings.
 */
import { bad, good, type Outcome, type Problem } from '../../kit/outcome.ts';
import { frameKey, idNumber } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { mayCommand, whyNotSent } from '../encode-choice.ts';
import { asSeen } from '../look-alike.ts';
import { shownHarmless } from './harmless.ts';

/** `live`: counters and checksums are made anew for each frame; `as-recorded`: bytes as they are in the capture. */
export type SendingForm = 'live' | 'as-recorded';

export interface GoingFrame {
  readonly frame: MapFrame;
  readonly because: 'shown-harmless' | 'released';
  /** Signals in it that may move the machine or switch its battery. */
  readonly mayCommand: readonly string[];
}

export interface KeptOutFrame {
  readonly frame: MapFrame;
  /** "name (can0/0x1F4)". */
  readonly name: string;
  readonly why: string;
  /** A person may release it by name; else it never goes out. */
  readonly releasable: boolean;
}

export interface FrameChoice {
  readonly going: readonly GoingFrame[];
  readonly keptOut: readonly KeptOutFrame[];
}

type Sendable = Pick<SignalMap, 'frames'>;

export const commandsIn = (frame: MapFrame): string[] => frame.signals.filter(mayCommand).map(({ name }) => name);

/** For a person: the name, and where it is on the bus. */
export const calledFrame = (frame: MapFrame): string =>
  `${frame.name || 'a frame without a name'} (${frameKey(frame)})`;

const identifier = ({ id, extended }: MapFrame): string => `${idNumber(id)}${extended ? 'x' : ''}`;

/** Why a frame that the map does not call the part's own may be it all the same; null where nothing speaks for that. */
function whyPerhapsOwn({ frames }: Sendable, frame: MapFrame): string | null {
  // A person, or a trial, said that another module sends it.
  if (frame.role === 'needed-by-part') return null;
  const own = frames.filter(({ role }) => role === 'sent-by-part');
  const orSay = 'if it is of another module, say so in the map (role needed-by-part)';
  if (own.length === 0)
    return 'the map does not say which frames the part sends itself, and this may be one of them: say which senders are the part';
  if (frame.sender !== null && own.some(({ sender }) => sender?.group === frame.sender?.group))
    return `it comes from the same sender as frames of the part: ${orSay}`;
  const copied = own.find((each) => identifier(each) === identifier(frame));
  return copied ? `it has the identifier of ${calledFrame(copied)}, which the part sends: ${orSay}` : null;
}

/** Why a frame is in no export for sending, whoever releases it; null where it may be. */
export function whyNeverSent(map: Sendable, frame: MapFrame, form: SendingForm = 'live'): string | null {
  if (frame.role === 'sent-by-part') return 'the part sends it itself: two senders of one identifier fight';
  const own = whyPerhapsOwn(map, frame);
  if (own !== null) return own;
  if (form === 'live') return whyNotSent(frame);
  return frame.checksums.some(({ method }) => method === 'mac')
    ? 'its tag depends on a secret and on the moment: a recorded one is refused, or worse. Keep the module that sends it'
    : null;
}

/** Identifiers of diagnostic requests and replies by ISO 15765-4 (11 bits; 29 bits, normal fixed addressing). */
export function isDiagnostic({ id, extended }: MapFrame): boolean {
  const number = idNumber(id);
  if (!extended) return number === 0x7df || (number >= 0x7e0 && number <= 0x7ef);
  const format = (number >>> 16) & 0x3ff;
  return format === 0xda || format === 0xdb;
}

const DIAGNOSTIC =
  'it is diagnostic traffic, which can start routines, reset or unlock a module: release it by name if you mean to send it';
const UNSHOWN = 'not shown harmless, so it may command: release it by name if you mean to send it';

function isReleased(frame: MapFrame, released: ReadonlySet<string>): boolean {
  return released.has(frameKey(frame));
}

function whyKept(
  map: Sendable,
  frame: MapFrame,
  released: ReadonlySet<string>,
  form: SendingForm,
): KeptOutFrame | null {
  const never = whyNeverSent(map, frame, form);
  const name = calledFrame(frame);
  if (never !== null) return { frame, name, why: never, releasable: false };
  if (isReleased(frame, released)) return null;
  const commands = commandsIn(frame);
  if (commands.length > 0) {
    const why = `${commands.join(', ')} may move the machine or switch its battery: release the frame by name if you mean to send it`;
    return { frame, name, why, releasable: true };
  }
  if (isDiagnostic(frame)) return { frame, name, why: DIAGNOSTIC, releasable: true };
  return shownHarmless(frame) ? null : { frame, name, why: UNSHOWN, releasable: true };
}

/** Why this frame stays out; null where it may go. @param released keys of frames (`frameKey`), as `releasedKeys` makes them of names */
export function whyKeptOut(
  map: Sendable,
  frame: MapFrame,
  released: ReadonlySet<string>,
  form: SendingForm = 'live',
): string | null {
  return whyKept(map, frame, released, form)?.why ?? null;
}

const problem = (code: string, message: string, advice: string): Problem => ({ code, message, advice });

function keyOfName(map: Sendable, name: string): string | Problem {
  const meant = map.frames.filter((frame) => frame.name === name || frameKey(frame) === name);
  const [only, ...others] = meant;
  if (!only)
    return problem(
      'release-of-nothing',
      `the map has no frame "${name}" to release.`,
      'Write its name as the map has it, or its bus and identifier, such as can0/0x1F4 (can0/0x18FF50E5x with 29 bits).',
    );
  // Nobody can see which of two names that look alike was meant; a bus and an identifier have no twin.
  const alike = name === frameKey(only) ? [] : map.frames.filter((frame) => asSeen(frame.name) === asSeen(only.name));
  const several = others.length > 0 ? meant : alike;
  if (several.length > 1)
    return problem(
      'release-of-several',
      `${several.length} frames of the map answer to "${name}"${others.length > 0 ? '' : ', or look as if they did'}.`,
      `Write which: ${several.map(frameKey).join(' or ')}.`,
    );
  return frameKey(only);
}

/**
 * Keys of the frames that a person released, each by its name in the map or by bus and identifier. A release that names nothing, or several, is a
 * slip worth stopping at; one of what never goes out is refused with the reason.
 */
export function releasedKeys(
  map: Sendable,
  names: readonly string[],
  form: SendingForm = 'live',
): Outcome<ReadonlySet<string>> {
  const keys = new Set<string>();
  const problems: Problem[] = [];
  for (const name of names) {
    const key = keyOfName(map, name);
    if (typeof key !== 'string') {
      problems.push(key);
      continue;
    }
    const frame = map.frames.find((each) => frameKey(each) === key) as MapFrame;
    const never = whyNeverSent(map, frame, form);
    if (never === null) keys.add(key);
    else
      problems.push(
        problem('release-of-unsendable', `${calledFrame(frame)} cannot be released: ${never}.`, 'Leave it out.'),
      );
  }
  const [first, ...rest] = problems;
  return first ? bad(first, ...rest) : good(keys);
}

/** All frames of a map, parted. @param frames those that come into question, default all */
export function chooseFrames(
  map: Sendable,
  released: ReadonlySet<string>,
  form: SendingForm = 'live',
  frames: readonly MapFrame[] = map.frames,
): FrameChoice {
  const going: GoingFrame[] = [];
  const keptOut: KeptOutFrame[] = [];
  for (const frame of frames) {
    const kept = whyKept(map, frame, released, form);
    if (kept) keptOut.push(kept);
    else {
      const because = isReleased(frame, released) ? 'released' : 'shown-harmless';
      going.push({ frame, because, mayCommand: commandsIn(frame) });
    }
  }
  return { going, keptOut };
}
