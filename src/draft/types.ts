/** What a draft is made from, besides the capture: everything the finders said and everything a person decided. */
import type { LinkReport, Sequence } from '../actions/types.ts';
import type { SameValueReport } from '../fields/same-value/types.ts';
import type { FrameFindings, HandDecision } from '../fields/types.ts';
import type { Stream } from '../frames/table.ts';
import { formatId } from '../kit/units.ts';
import type { MapFrame, MapSignal, SignalMap } from '../map/schema.ts';
import type { FitReport } from '../reference/types.ts';
import type { SenderHand } from '../timing/senders/settle-senders.ts';
import type { Survey } from '../timing/types.ts';
import type { MeaningReport } from './meaning.ts';

/** (bus, id, extended): a frame's identity in the map; id as the map writes it, "0x1F4". */
export interface FrameKey {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export interface NamedSignal extends FrameKey {
  readonly signal: MapSignal;
}

export type Decision = FrameKey & HandDecision;

interface FrameName extends FrameKey {
  readonly name: string;
}

export interface RestPayload extends FrameKey {
  /** As the map writes it: "00 10 FF". */
  readonly payload: string;
  readonly fromS: number;
  readonly toS: number;
}

/** What a person decided; the page's dossier has it in this shape. */
export interface HandWork extends Partial<SenderHand> {
  readonly signals?: readonly NamedSignal[];
  readonly decisions?: readonly Decision[];
  readonly frameNames?: readonly FrameName[];
  /** Letters of the senders that are the part itself. */
  readonly partSenders?: readonly string[];
}

export interface AssembleInput extends Omit<HandWork, keyof SenderHand> {
  /** With senders as the person has them (`settleSenders`). */
  readonly survey: Survey;
  readonly findings: readonly FrameFindings[];
  /** Frames of a tester and of what answers it: they are listed, and hold no signals but a person's. */
  readonly asked?: readonly FrameKey[];
  readonly links?: LinkReport | null;
  readonly fits?: FitReport | null;
  /** Fields that show the same quantity. */
  readonly same?: SameValueReport | null;
  readonly rest?: readonly RestPayload[];
  readonly sequences?: readonly Sequence[];
  /** The parts that fields play. */
  readonly meaning?: MeaningReport | null;
  readonly part: SignalMap['part'];
  /** Captures the map was made from; evidence and rest payloads name the first one's id. */
  readonly captures: SignalMap['captures'];
  /** ISO 8601, and "loomscribe 0.1.0". */
  readonly made: SignalMap['made'];
}

/** Whether something is said of a stream. */
export const isOfStream = ({ bus, id, extended }: Stream, key: FrameKey): boolean =>
  isFrame({ bus, id: formatId(id), extended }, key);

export const isFrame = (frame: Pick<MapFrame, 'bus' | 'id' | 'extended'>, key: FrameKey): boolean =>
  frame.bus === key.bus && frame.id === key.id && frame.extended === key.extended;
