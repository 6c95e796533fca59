/**
 * The schedule as it is handed out: encoder and schedule in C, made of a map whose payloads at rest were taken from a marked span, with what is to be read
 * first. The files are given only for the phrase that names what is about to be sent.
 */
import { cautionsFor } from '../cautions.ts';
import { generateC, type CCode, type COptions } from '../c/source.ts';
import type { LeftOut } from '../encode-choice.ts';
import type { PlannedFrame } from '../needs/types.ts';
import { printMap } from '../../map/print.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import { good, type Outcome } from '../../kit/outcome.ts';
import { confirmationPhrase, isConfirmed, sendingCautions, type SendingSet, type VariedSignal } from './cautions.ts';
import { chooseFrames, releasedKeys } from './choice.ts';
import type { ChosenSpan } from './asked-span.ts';
import type { RestTopic } from './rest-watch.ts';
import { scheduleC, scheduleContent, type Schedule } from './schedule.ts';

export interface ScheduleAsked {
  /** Its payloads at rest from a marked span (`withMarkedRest`). */
  readonly map: SignalMap;
  readonly planned: readonly PlannedFrame[];
  /** Names of frames. */
  readonly release: readonly string[];
  readonly span: ChosenSpan | null;
  readonly unwatched: readonly RestTopic[];
  /** Told in the cautions and in the phrase: a program sets it right after the schedule's init. */
  readonly varied?: VariedSignal | null;
  /** As for the encoder: prefix, scaling, ranges, released signals. */
  readonly code: Omit<COptions, 'cautions'>;
}

export interface ScheduleExport {
  readonly schedule: Schedule;
  /** What it is compiled with. */
  readonly code: Pick<CCode, 'header' | 'source'>;
  readonly cautions: readonly string[];
  /** Empty where nothing goes. */
  readonly phrase: string;
  readonly leftOut: readonly LeftOut[];
}

export interface SendingFile {
  readonly name: string;
  readonly text: string;
}

export function exportSchedule(asked: ScheduleAsked): Outcome<ScheduleExport> {
  const { map, planned } = asked;
  const released = releasedKeys(map, asked.release);
  if (!released.ok) return released;
  const code = generateC(map, { ...asked.code, cautions: cautionsFor(map, asked.code.release) });
  const prefix = asked.code.prefix ? { prefix: asked.code.prefix } : {};
  const content = scheduleContent(map, planned, { released: released.value, ...prefix, code });
  const keys = new Set(content.frames.map(({ frame }) => frameKey(frame)));
  const going = chooseFrames(map, released.value).going.filter(({ frame }) => keys.has(frameKey(frame)));
  const set: SendingSet = {
    kind: 'schedule',
    going,
    span: asked.span,
    unwatched: asked.unwatched,
    varied: asked.varied ?? null,
  };
  const cautions = sendingCautions(map, set);
  const schedule = scheduleC({ ...content, cautions });
  const phrase = going.length > 0 ? confirmationPhrase(map, set) : '';
  return good({ schedule, code, cautions, phrase, leftOut: schedule.leftOut });
}

/** Null unless what was typed is the phrase. */
export function scheduleFiles(
  { map }: Pick<ScheduleAsked, 'map'>,
  { schedule, code, cautions, phrase }: ScheduleExport,
  typed: string,
): SendingFile[] | null {
  if (!isConfirmed(typed, phrase)) return null;
  return [
    { name: 'read-first.txt', text: cautionText(cautions) },
    { name: 'signal-map.json', text: printMap(map) },
    { name: 'signal_map.h', text: code.header },
    { name: 'signal_map.c', text: code.source },
    ...schedule.files,
  ];
}

/** Cautions as plain text, for beside files that have no room for them. */
export const cautionText = (cautions: readonly string[]): string =>
  `Read this before anything is sent.\n\n${cautions.map((line) => `- ${line.replace(/\s+/g, ' ')}\n`).join('')}`;
