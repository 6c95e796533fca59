/** Whether a recording suffices before the part is cut out of its vehicle: what is needed, what to record next, what to take along. Plain data. */
import type { LinkReport, Mark } from '../../actions/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { Survey } from '../../timing/types.ts';

/** What the donor can still do: a pyro fuse that has fired or a dead pack leaves the key, a part on the bench not even that. */
export type DonorCan = 'drive' | 'key-on' | 'bench';

export interface SufficesInput {
  /** Only the frames of the fields that answer actions are read. */
  readonly table: FrameTable;
  readonly survey: Pick<Survey, 'capture' | 'frames' | 'groups' | 'modes'>;
  /** Null where time was too short to look for fields: what needs them is then "cannot-tell". */
  readonly findings: readonly FrameFindings[] | null;
  /** On the capture's clock. */
  readonly marks: readonly Mark[];
  /** Null without marks, and where time was too short. */
  readonly links: LinkReport | null;
  /** Default "drive". */
  readonly donor?: DonorCan;
}

export type Verdict = 'enough' | 'short' | 'cannot-tell';

export type NeedKind =
  /** The wake from sleep, or the shut-down until the bus is silent. */
  | 'wake'
  | 'shut-down'
  /** A mode of the vehicle: about "driving". */
  | 'mode'
  /** An action often enough, and answered: about its name. */
  | 'repetitions'
  /** How far what answers an action went: about its name. */
  | 'range'
  /** A pair of actions that cannot be told apart: about "A / B". */
  | 'apart'
  /** A counter or checksum: about "can0 0x1F4 checksum byte 7". */
  | 'guard'
  | 'frames-lost'
  /** That anything was marked at all. */
  | 'marks';

export interface Identifier {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export interface Need {
  /** Unique, and the same for the same thing in another recording: "repetitions brake pressed". */
  readonly key: string;
  readonly what: NeedKind;
  /** An action, a mode, an identifier's guard; empty where it is of the whole recording. */
  readonly about: string;
  readonly verdict: Verdict;
  /** What the verdict was reached by; units in the names. */
  readonly figures: Readonly<Record<string, number>>;
  /** For a person. */
  readonly says: string;
  /** The identifier that it is about, where it is of one. */
  readonly at?: Identifier;
  /** Those that it is about, where it is of several. */
  readonly identifiers?: readonly Identifier[];
  /** Of a guard: payload bits (byte * 8 + bit) whose part in it the recording could not show. */
  readonly bits?: readonly number[];
  /** Seconds on the capture's clock to look at, where there are such moments. */
  readonly moments?: readonly number[];
}

/** A row of the run card, as the page's run card has it; `value` goes with the mark where the action has several. */
export interface RunCardStep {
  /** The action its marks are written for; empty: nothing is done and no mark written. */
  readonly action: string;
  /** The cue, as said to the person in the vehicle. */
  readonly says: string;
  /** Seconds to hold; 0: an instant. */
  readonly holdS: number;
  readonly times: number;
  readonly value?: string;
}

/** What an acceptance filter lets through: identifiers of which the bits of the mask are those of the code. */
export interface AcceptFilter {
  readonly bus: string;
  /** Null: of both lengths. */
  readonly extended: boolean | null;
  /** "0x0" lets all through. */
  readonly mask: string;
  readonly code: string;
}

/** A recording to make next. */
export interface NextRecording {
  readonly title: string;
  /** Where the logger has to be set up otherwise, and when it starts and stops. */
  readonly logger: string;
  /** The run card. */
  readonly card: readonly RunCardStep[];
  /** Keys of the needs that it settles. */
  readonly settles: readonly string[];
  readonly says: string;
  /** About so long, pauses included. */
  readonly lastsS: number;
  /** What the logger is to hear, where not all. */
  readonly hears?: readonly AcceptFilter[];
}

export interface TakeAlong {
  readonly kind: 'partner-modules' | 'keys' | 'plugs';
  readonly says: string;
  /** Sender groups that share the keyed tags, where they are known. */
  readonly groups?: readonly string[];
  readonly frames?: readonly Identifier[];
  /** Of these, those whose sender timing does not tell. */
  readonly untold?: readonly Identifier[];
}

/** What this donor cannot show, whatever is recorded of it, and what to do instead. */
export interface BeyondDonor {
  /** A mode, or what is needed: "driving". */
  readonly about: string;
  readonly says: string;
  readonly instead: string;
}

export interface Sufficiency {
  /** Those that are short first, then what cannot be told, then what is enough. */
  readonly needs: readonly Need[];
  /** The one that settles most first; empty where nothing is left to record. */
  readonly next: readonly NextRecording[];
  readonly take: readonly TakeAlong[];
  /** Empty for a donor that can drive. */
  readonly beyond: readonly BeyondDonor[];
  /** All in one line. */
  readonly says: string;
}
