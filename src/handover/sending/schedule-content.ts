/** What the header and the source of a schedule are made of. */
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import type { LeftOut } from '../encode-choice.ts';
import type { ScheduledFrame } from './schedule-plan.ts';

/** A frame of the schedule with its names in C. */
export interface CScheduled extends ScheduledFrame {
  /** Struct and function stem of the generated code: "sm_inverter_status". */
  readonly stem: string;
  /** Its live state: a member of `live` in the schedule's struct. */
  readonly member: string;
  /** Its number in the schedule: "SM_SCHEDULE_INVERTER_STATUS". */
  readonly macro: string;
  readonly busMacro: string;
}

export interface ScheduleNames {
  /** Of the generated code: "sm". */
  readonly prefix: string;
  /** Struct, and before every function: "sm_schedule". */
  readonly stem: string;
  /** "SM_SCHEDULE" */
  readonly macro: string;
}

export interface ScheduleContent {
  readonly map: Pick<SignalMap, 'part' | 'made'>;
  readonly names: ScheduleNames;
  readonly frames: readonly CScheduled[];
  /** By number. */
  readonly buses: readonly { readonly name: string; readonly macro: string }[];
  readonly leftOut: readonly LeftOut[];
  readonly cautions: readonly string[];
}

/** Of a frame of several pages a schedule sends the one recorded at rest alone. */
export const sendsOnePage = (frame: MapFrame): boolean => frame.selectors.length > 0;
