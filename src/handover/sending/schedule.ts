/**
 * A sending schedule in C99 (and C++17) on top of the generated encoder: a table of frames with period, first time and bus, and the live state of
 * each, so that counters step and checksums are made anew. No allocation, no clock, no library: time comes in as free-running microseconds, frames go out
 * through a function of the caller. Only frames that may go out are in it; `leftOut` says why of the others.
 */
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import { NameSpace, safeIdentifier } from '../c/names.ts';
import type { CCode } from '../c/source.ts';
import type { PlannedFrame } from '../needs/types.ts';
import type { CScheduled, ScheduleContent, ScheduleNames } from './schedule-content.ts';
import { planSchedule, type ScheduledFrame } from './schedule-plan.ts';
import { scheduleHeader } from './schedule-header.ts';
import { scheduleSource } from './schedule-source.ts';

export interface ScheduleOptions {
  /** Keys of the frames that a person released (`releasedKeys`). */
  readonly released: ReadonlySet<string>;
  /** Before every C name, as the code was generated with; default "sm". */
  readonly prefix?: string;
  /** The code that the schedule is compiled with. */
  readonly code: Pick<CCode, 'frames'>;
}

export interface Schedule extends Pick<ScheduleContent, 'names' | 'frames' | 'buses' | 'leftOut'> {
  /** Empty where no frame may go out. */
  readonly files: readonly { readonly name: string; readonly text: string }[];
}

/** "sm_schedule", or with a number behind it where frames of the map are called so. */
function freeStem(prefix: string, stems: readonly string[]): string {
  for (let n = 1; ; n++) {
    const stem = `${prefix}_schedule${n === 1 ? '' : n}`;
    if (!stems.some((taken) => taken === stem || taken.startsWith(`${stem}_`))) return stem;
  }
}

const FIXED_MACROS = ['COUNT', 'H', 'BUSES', 'WAS_SENT', 'WAS_REFUSED', 'HAS_FAILED'];

function busMacros(frames: readonly ScheduledFrame[], macro: string, taken: NameSpace): Map<string, string> {
  const buses = [...new Set(frames.map(({ frame }) => frame.bus))];
  return new Map(buses.map((bus) => [bus, taken.claimSafe(`${macro}_BUS_${safeIdentifier(bus)}`.toUpperCase())]));
}

function named(
  frames: readonly ScheduledFrame[],
  stems: ReadonlyMap<string, string>,
  names: ScheduleNames,
): CScheduled[] {
  const { prefix, macro } = names;
  const macros = new NameSpace(FIXED_MACROS.map((word) => `${macro}_${word}`));
  const buses = busMacros(frames, macro, macros);
  return frames.map((scheduled) => {
    const stem = stems.get(frameKey(scheduled.frame)) as string;
    const member = stem.slice(prefix.length + 1);
    const own = macros.claimSafe(`${macro}_${member}`.toUpperCase());
    return { ...scheduled, stem, member, macro: own, busMacro: buses.get(scheduled.frame.bus) as string };
  });
}

/** What goes, before anything of it is written: cautions are made of that. */
export function scheduleContent(
  map: SignalMap,
  planned: readonly PlannedFrame[],
  { released, prefix: asked = 'sm', code }: ScheduleOptions,
): Omit<ScheduleContent, 'cautions'> {
  const prefix = safeIdentifier(asked).toLowerCase();
  const all = code.frames.map(({ stem }) => stem);
  const stem = freeStem(prefix, all);
  const names: ScheduleNames = { prefix, stem, macro: stem.toUpperCase() };
  const stems = new Map(code.frames.map((each) => [frameKey(each.frame), each.stem]));
  const canEncode = new Set(code.frames.filter(({ encodes }) => encodes).map(({ frame }) => frameKey(frame)));
  const plan = planSchedule(map, planned, released);
  const going = plan.frames.filter(({ frame }) => canEncode.has(frameKey(frame)));
  const unable = plan.frames.filter(({ frame }) => !canEncode.has(frameKey(frame)));
  const frames = named(going, stems, names);
  const leftOut = [...plan.leftOut, ...unable.map(({ frame }) => ({ name: frame.name, why: 'it has no encoder' }))];
  const buses = [...new Map(frames.map(({ frame, busMacro }) => [frame.bus, busMacro]))];
  return { map, names, frames, buses: buses.map(([name, macro]) => ({ name, macro })), leftOut };
}

/** Its cautions stand at the top of both files. */
export function scheduleC(content: ScheduleContent): Schedule {
  const { names, frames, buses, leftOut } = content;
  const files = [
    { name: 'signal_map_schedule.h', text: scheduleHeader(content) },
    { name: 'signal_map_schedule.c', text: scheduleSource(content) },
  ];
  return { names, files: frames.length > 0 ? files : [], frames, buses, leftOut };
}
