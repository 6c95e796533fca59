/** What map and captures could not tell about the part's needs, and what to record or try for it. */
import { namesOf } from '../../kit/few-names.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import type { AbsenceSeen } from './absences.ts';
import { lostCodeWords } from './lost-partners.ts';
import type { CaptureObservations } from './observe/types.ts';
import type { PlannedFrame } from './types.ts';

/** So many wakings tell an order from chance. */
const WAKINGS_WANTED = 3;

/** Identifiers with their bus where they are of several. */
const named = (frames: readonly Pick<MapFrame, 'bus' | 'id'>[]): string => {
  const isOne = new Set(frames.map(({ bus }) => bus)).size === 1;
  return namesOf(isOne ? frames : frames.map(({ bus, id }) => ({ id: `${bus} ${id}` })));
};

const count = (n: number, noun: string): string => `${n} ${noun}${n === 1 ? '' : 's'}`;

function ofPart({ frames }: SignalMap): string[] {
  if (frames.some(({ role }) => role === 'sent-by-part')) return [];
  return [
    'No frame of the map is marked as sent by the part: which frames are its own decides everything here. Say which senders are the part (Handover on the page, --part on the command line).',
  ];
}

function ofCaptures(frames: readonly PlannedFrame[], observations: readonly CaptureObservations[]): string[] {
  if (observations.length === 0)
    return [
      'No capture was looked at: phases, the order after wake-up and who misses whom are unknown. Give the captures, from sleep through key on.',
    ];
  const seen = new Set(observations.flatMap((each) => each.frames.map(frameKey)));
  const unseen = frames.filter(({ frame }) => !seen.has(frameKey(frame))).map(({ frame }) => frame);
  return unseen.length > 0
    ? [
        `${named(unseen)} ${unseen.length === 1 ? 'is' : 'are'} in no capture that was given: are they of the same vehicle and buses?`,
      ]
    : [];
}

function ofWakings(observations: readonly CaptureObservations[]): string[] {
  if (observations.length === 0) return [];
  const wakings = observations.flatMap(({ capture, wakings: own }) => own.map((waking) => ({ capture, ...waking })));
  const buses = [...new Set(observations.flatMap((each) => each.frames.map(({ bus }) => bus)))].sort();
  return buses.flatMap((bus) => {
    const n = wakings.filter((waking) => waking.bus === bus).length;
    if (n >= WAKINGS_WANTED) return [];
    const had = n === 0 ? 'No waking was seen' : `Only ${count(n, 'waking')} ${n === 1 ? 'was' : 'were'} seen`;
    return [
      `${had} of ${bus}: let the vehicle sleep until the bus is silent and wake it ${WAKINGS_WANTED} times or more, with the logger running, to tell the order from chance.`,
    ];
  });
}

function ofPhases(frames: readonly PlannedFrame[], observations: readonly CaptureObservations[]): string[] {
  if (observations.length === 0) return [];
  const byWhy = new Map<string, MapFrame[]>();
  for (const { frame, periodMs, phaseMs, phaseWhy } of frames) {
    if (periodMs === null || phaseMs !== null) continue;
    byWhy.set(phaseWhy, [...(byWhy.get(phaseWhy) ?? []), frame]);
  }
  return [...byWhy].map(([why, own]) => `No phase is known of ${named(own)}: ${why}.`);
}

function ofRest(frames: readonly PlannedFrame[]): string[] {
  const without = frames.filter(({ frame, need }) => frame.rest === null && need !== 'not-required');
  if (without.length === 0) return [];
  const names = named(without.map(({ frame }) => frame));
  return [
    `${names} ${without.length === 1 ? 'has' : 'have'} no payload recorded at rest: record some seconds ready in park, no pedal, not charging.`,
  ];
}

/** Senders of planned frames whose absence was never recorded. */
function ofAbsences(frames: readonly PlannedFrame[], absences: readonly AbsenceSeen[]): string[] {
  const missed = new Set(absences.flatMap(({ missing }) => missing.map(frameKey)));
  const untried = new Map<string, number>();
  for (const { frame, need } of frames) {
    if (need !== 'untested' || !frame.sender || missed.has(frameKey(frame))) continue;
    const sender = frame.sender.name || `sender ${frame.sender.group}`;
    untried.set(sender, (untried.get(sender) ?? 0) + 1);
  }
  if (untried.size === 0) return [];
  const senders = [...untried].sort((a, b) => b[1] - a[1]).map(([sender, n]) => `${sender} (${count(n, 'frame')})`);
  return [
    `Nobody has seen the part without ${senders.join(', ')}: where the vehicle still wakes, unplug one module at a time, record waking and key on, and read the part's fault codes after each.`,
  ];
}

function ofFaults(observations: readonly CaptureObservations[], partKeys: ReadonlySet<string>): string[] {
  if (observations.length === 0) return [];
  const own = observations.flatMap(({ lostCodes }) => lostCodes).filter((code) => partKeys.has(frameKey(code)));
  const told = [...new Set(own.map(({ code }) => lostCodeWords(code)))];
  if (told.length > 0)
    return [
      `The part tells ${told.join('; ')} although nothing was said to be missing: it misses a module, or missed one once.`,
    ];
  const asked = observations.some(({ askedForFaults }) => askedForFaults.some((key) => partKeys.has(frameKey(key))));
  return asked
    ? []
    : [
        'No fault codes of the part were read in these captures (service 19 of ISO 14229-1): codes of lost communication say whom it misses.',
      ];
}

export function openQuestions(
  map: SignalMap,
  frames: readonly PlannedFrame[],
  observations: readonly CaptureObservations[],
  absences: readonly AbsenceSeen[],
): string[] {
  const partKeys = new Set(map.frames.filter(({ role }) => role === 'sent-by-part').map(frameKey));
  return [
    ...ofPart(map),
    ...ofCaptures(frames, observations),
    ...ofWakings(observations),
    ...ofPhases(frames, observations),
    ...ofRest(frames),
    ...ofAbsences(frames, absences),
    ...ofFaults(observations, partKeys),
  ];
}
