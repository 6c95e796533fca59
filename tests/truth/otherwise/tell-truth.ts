/** The truth about a recording, from the plan and from what happened, on the capture's own clock. */
import type { Happened, Reset } from './run-vehicle.ts';
import type { WireFrame } from './controller.ts';
import type { Oscillator } from './oscillator.ts';
import type { MessagePlan, Mode, ModeSpan, ModulePlan, VehiclePlan } from './plan.ts';
import { timingOf, type Timing } from './true-timing.ts';
import type { TrafficTruth, TrueIdentifier, TrueKey } from './true-traffic.ts';
import { turnsOf } from './true-turns.ts';
import type { LoggerWish, TrafficWish } from './wish.ts';

export interface Told {
  readonly wish: TrafficWish;
  readonly plan: VehiclePlan;
  readonly modes: readonly ModeSpan[];
  readonly resets: readonly Reset[];
  readonly happened: Happened;
  readonly loggers: readonly {
    readonly wish: LoggerWish;
    readonly clock: Oscillator;
    readonly rows: readonly { readonly frame: WireFrame; readonly stampUs: number }[];
  }[];
}

export function keyOfMessage(plan: VehiclePlan, number: number): TrueKey {
  const { bus, id, extended } = plan.messages[number] as MessagePlan;
  return { bus: plan.buses[bus]?.name as string, id, extended };
}

function countMessages(plan: VehiclePlan, frames: Iterable<WireFrame>): number[] {
  const counts = plan.messages.map(() => 0);
  for (const { message } of frames) counts[message] = (counts[message] as number) + 1;
  return counts;
}

export function tellTruth(told: Told): TrafficTruth {
  const { plan, modes, happened, loggers, wish } = told;
  const [main] = loggers as [Told['loggers'][0]];
  const firstUs = Math.min(...happened.frames.slice(0, 4).map(({ endUs }) => endUs));
  const captureS = (trueUs: number): number => (main.clock.ownUs(trueUs) - main.clock.ownUs(firstUs)) / 1e6;
  const sent = countMessages(plan, happened.frames);
  const recorded = countMessages(
    plan,
    loggers.flatMap(({ rows }) => rows.map(({ frame }) => frame)),
  );
  const identifiers = plan.messages
    .map((message, number) => identifierOf(told, message, number, sent[number] as number, recorded[number] as number))
    .filter((identifier) => identifier.recorded > 0);
  return {
    modules: plan.modules.map(({ name }) => ({ name })),
    identifiers,
    modes: modes.map(({ mode, fromUs, toUs }) => ({ mode, fromS: captureS(fromUs), toS: captureS(toUs) })),
    turns: turnsOf(told, captureS),
    boots: bootsOf(told, captureS),
    clockEvents: clockEventsOf(main.wish),
    lost: happened.frames.length - loggers.reduce((sum, { rows }) => sum + rows.length, 0),
    dropped: happened.dropped,
    loggers: loggersOf(told, firstUs),
    unplugged: unpluggedOf(plan, wish.unplugged ?? [], recorded),
  };
}

function identifierOf(
  told: Told,
  message: MessagePlan,
  number: number,
  sent: number,
  recorded: number,
): TrueIdentifier {
  const { plan, modes } = told;
  const main = (told.loggers[0] as Told['loggers'][0]).wish;
  const source = message.trigger.by === 'copy' ? (plan.messages[message.trigger.of] as MessagePlan) : message;
  const module = plan.modules[source.module] as ModulePlan;
  const absent = new Set(told.wish.unplugged ?? []);
  const timing: Timing = timingOf(plan, source, module, modes, absent);
  const scale = 1 + (main.skewPpm - module.oscillator.ppm) * 1e-6;
  const seen = (ownUs: number | null): number | null => (ownUs === null ? null : (ownUs * scale) / 1000);
  const { trigger } = message;
  const byMode = timing.periodUsByMode;
  return {
    ...keyOfMessage(plan, number),
    module: (plan.modules[message.module] as ModulePlan).name,
    kind: timing.kind,
    alsoRight: trigger.by === 'copy' ? [...timing.alsoRight, 'reply'] : timing.alsoRight,
    periodMs: seen(timing.periodUs),
    periodMsByMode:
      byMode === null
        ? null
        : (Object.fromEntries(Object.entries(byMode).map(([mode, us]) => [mode, seen(us)])) as Record<
            Mode,
            number | null
          >),
    replyTo: trigger.by === 'request' ? keyOfMessage(plan, trigger.of) : null,
    copyOf: trigger.by === 'copy' ? keyOfMessage(plan, trigger.of) : null,
    network: trigger.by === 'ring' ? 'ring' : trigger.by === 'keep awake' ? 'keep awake' : null,
    sent,
    recorded,
  };
}

function bootsOf({ plan, happened }: Told, captureS: (us: number) => number): TrafficTruth['boots'] {
  return happened.boots.map(({ module, atUs }) => {
    const first = happened.frames.find(
      ({ endUs, message }) => endUs > atUs && (plan.messages[message] as MessagePlan).module === module,
    );
    const name = (plan.modules[module] as ModulePlan).name;
    return { module: name, atS: captureS(atUs), firstFrameS: first ? captureS(first.endUs) : null };
  });
}

function clockEventsOf({ jumps, restartsS, holes }: LoggerWish): TrafficTruth['clockEvents'] {
  return [
    ...jumps.map(({ atS, byS }) => ({ kind: byS > 0 ? ('jump-forward' as const) : ('jump-back' as const), atS, byS })),
    ...restartsS.map((atS) => ({ kind: 'restart' as const, atS, byS: 0 })),
    ...holes.map(({ atS, forS }) => ({ kind: 'hole' as const, atS, byS: forS })),
  ].sort((a, b) => a.atS - b.atS);
}

/** Of each bus's logger against the first one's, by least squares over the capture. */
function loggersOf({ plan, loggers, wish }: Told, firstUs: number): TrafficTruth['loggers'] {
  const [main] = loggers as [Told['loggers'][0]];
  const endUs = wish.durationS * 1e6;
  return plan.buses.map(({ name }, bus) => {
    const { clock } = loggers[bus > 0 ? loggers.length - 1 : 0] as Told['loggers'][0];
    const aheadAt = (us: number): number => (clock.ownUs(us) - main.clock.ownUs(us)) / 1e6;
    const driftPpm = ((aheadAt(endUs) - aheadAt(firstUs)) / (endUs - firstUs)) * 1e12;
    return { bus: name, aheadS: aheadAt(firstUs), driftPpm };
  });
}

function unpluggedOf(
  plan: VehiclePlan,
  absent: readonly number[],
  recorded: readonly number[],
): TrafficTruth['unplugged'] {
  const gone = new Set(absent);
  const isLost = (number: number): boolean => {
    const { module, trigger } = plan.messages[number] as MessagePlan;
    return gone.has(module) || ((trigger.by === 'copy' || trigger.by === 'request') && isLost(trigger.of));
  };
  const missing = plan.messages.map((_, number) => number).filter(isLost);
  const reactions = plan.messages.flatMap((message, number) => {
    if (recorded[number] === 0) return [];
    const key = keyOfMessage(plan, number);
    const { without, items } = message;
    const own = without && gone.has(without.module) ? [{ ...key, loss: without.loss }] : [];
    const echo = items.some((item) => item.is === 'echo' && isLost(item.of));
    const asked = plan.messages.some(
      ({ trigger, module }) => trigger.by === 'request' && trigger.of === number && gone.has(module),
    );
    return [
      ...own,
      ...(echo ? [{ ...key, loss: 'echo without source' as const }] : []),
      ...(asked ? [{ ...key, loss: 'unanswered' as const }] : []),
    ];
  });
  return {
    modules: absent.map((place) => (plan.modules[place] as ModulePlan).name),
    missing: missing.map((number) => keyOfMessage(plan, number)),
    reactions,
  };
}
