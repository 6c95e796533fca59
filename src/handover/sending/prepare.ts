/**
 * Everything between a capture and a file that can be sent: which span may be taken, whether the frames bear it out, which frames go, what is to be read and typed, and, once
 * it was typed, the bytes. Answers are plain data; nothing throws for what a person asked.
 */
import type { Mark } from '../../actions/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { Problem } from '../../kit/outcome.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { BusChoice } from '../decode-plan.ts';
import { chooseSpan, type AskedSpan, type ChosenSpan } from './asked-span.ts';
import { confirmationPhrase, isConfirmed, sendingCautions, type SendingSet } from './cautions.ts';
import { calledFrame, chooseFrames, releasedKeys, type KeptOutFrame, type SendingForm } from './choice.ts';
import {
  EXCERPT_FRAMES_MOST,
  framesInSpan,
  lastPayloads,
  writeExcerpt,
  type ExcerptFrame,
  type WrittenExcerpt,
} from './excerpt.ts';
import { withMarkedRest, type MarkedPayload } from './marked-rest.ts';
import { checkRest, type RestCheck } from './rest-check.ts';
import { restMarks, type RestMark } from './rest-spans.ts';

export interface ExcerptAsked extends BusChoice {
  readonly map: SignalMap;
  /** On the capture's clock. */
  readonly marks: readonly Mark[];
  readonly span: AskedSpan;
  /** Frames released one by one: names of the map, or "can0/0x1F4". */
  readonly release: readonly string[];
  /** `rest`: only the payloads at rest, for a schedule; nothing is sent by them. */
  readonly kind: 'log' | 'pcapng' | 'rest';
  readonly loops: number;
  readonly recount: boolean;
  /** What the person typed; null: nothing is written yet. */
  readonly confirm: string | null;
}

export interface ExcerptedFrame {
  readonly key: string;
  readonly name: string;
  readonly count: number;
  readonly because: 'shown-harmless' | 'released';
  readonly mayCommand: readonly string[];
}

export interface ExcerptAnswer {
  readonly restMarks: readonly RestMark[];
  /** Why nothing can be taken; empty where something can. */
  readonly problems: readonly Problem[];
  readonly span: ChosenSpan | null;
  readonly check: RestCheck | null;
  readonly frames: readonly ExcerptedFrame[];
  readonly keptOut: readonly Pick<KeptOutFrame, 'name' | 'why' | 'releasable'>[];
  /** Would go, but do not occur in the span. */
  readonly absent: readonly string[];
  readonly cautions: readonly string[];
  /** To be typed; empty where nothing goes. */
  readonly phrase: string;
  /** Last payload of every frame of the map within the span. */
  readonly rest: readonly MarkedPayload[];
  /** Null until it was confirmed. */
  readonly written: WrittenExcerpt | null;
}

const NOTHING: ExcerptAnswer = {
  restMarks: [],
  problems: [],
  span: null,
  check: null,
  frames: [],
  keptOut: [],
  absent: [],
  cautions: [],
  phrase: '',
  rest: [],
  written: null,
};

const problem = (code: string, message: string, advice: string): Problem => ({ code, message, advice });

const formOf = ({ kind, recount }: ExcerptAsked): SendingForm => (kind === 'rest' || recount ? 'live' : 'as-recorded');

/** The span asked for, if marks and frames agree that it was one of rest. */
function spanOf(table: FrameTable, asked: ExcerptAsked): ExcerptAnswer {
  if (table.origin.kind === 'none')
    return {
      ...NOTHING,
      problems: [
        problem('no-time-stamps', 'the capture has no time stamps: no span of it can be told.', 'Record with stamps.'),
      ],
    };
  const marks = restMarks(asked.marks, table.endUs / 1e6);
  const chosen = chooseSpan(asked.span, marks, table.origin.kind === 'epoch' ? table.origin.text : null);
  if (!chosen.ok) return { ...NOTHING, restMarks: marks, problems: chosen.problems };
  const check = checkRest(table, asked.map, chosen.value, asked);
  const problems =
    check.against === null
      ? []
      : [
          problem(
            'frames-against-rest',
            `the frames speak against rest: ${check.against}.`,
            'Take another span, or set the map right if the signal is not what its name says.',
          ),
        ];
  return { ...NOTHING, restMarks: marks, span: chosen.value, check, problems };
}

function nothingGoes(keptOut: readonly KeptOutFrame[]): Problem {
  const releasable = keptOut.filter((each) => each.releasable).length;
  return problem(
    'nothing-to-send',
    `no frame goes out: none is shown harmless and none was released; ${releasable} could be released.`,
    'Release those you mean to send, one by one, by name.',
  );
}

export function prepareExcerpt(table: FrameTable, asked: ExcerptAsked): ExcerptAnswer {
  const begun = spanOf(table, asked);
  const { span } = begun;
  if (span === null || begun.problems.length > 0) return begun;
  const all = asked.map.frames.map((frame) => ({ frame }));
  const rest = lastPayloads(framesInSpan(table, asked.map, all, span, asked).found, span);
  if (asked.kind === 'rest') return { ...begun, rest };
  const map = withMarkedRest(asked.map, rest, 'excerpt', span.mark);
  const form = formOf(asked);
  const released = releasedKeys(map, asked.release, form);
  if (!released.ok) return { ...begun, rest, problems: released.problems };
  const { going, keptOut } = chooseFrames(map, released.value, form);
  const { found, absent } = framesInSpan(table, map, going, span, asked);
  const told = { ...begun, rest, keptOut: keptOut.map(({ name, why, releasable }) => ({ name, why, releasable })) };
  if (found.length === 0) return { ...told, problems: [nothingGoes(keptOut)], absent: absent.map(calledGoing) };
  return { ...told, absent: absent.map(calledGoing), ...read(table, asked, { map, found, span, check: begun.check }) };
}

const calledGoing = ({ frame }: Pick<ExcerptFrame, 'frame'>): string => calledFrame(frame);

interface Found {
  readonly map: SignalMap;
  readonly found: readonly ExcerptFrame[];
  readonly span: ChosenSpan;
  readonly check: RestCheck | null;
}

/** What is to be read and typed, and the bytes where it was. */
function read(
  table: FrameTable,
  { kind, loops, recount, confirm }: ExcerptAsked,
  { map, found, span, check }: Found,
): Pick<ExcerptAnswer, 'frames' | 'cautions' | 'phrase' | 'written' | 'problems'> {
  const as = kind === 'pcapng' ? 'pcapng' : 'log';
  const set: SendingSet = { kind: as, going: found, loops, recount, span, unwatched: check?.unwatched ?? [] };
  const cautions = sendingCautions(map, set);
  const phrase = confirmationPhrase(map, set);
  const frames = found.map(({ frame, count, because, mayCommand }) => ({
    key: frameKey(frame),
    name: frame.name,
    count,
    because,
    mayCommand,
  }));
  const total = loops * found.reduce((sum, { count }) => sum + count, 0);
  const problems =
    total > EXCERPT_FRAMES_MOST
      ? [
          problem(
            'too-many-frames',
            `${total} frames in ${loops} repetitions.`,
            `Write ${EXCERPT_FRAMES_MOST} at most.`,
          ),
        ]
      : [];
  const confirmed = problems.length === 0 && confirm !== null && isConfirmed(confirm, phrase);
  const written = confirmed ? writeExcerpt(table, found, span, { as, loops, recount, comments: cautions }) : null;
  return { frames, cautions, phrase, written, problems };
}
