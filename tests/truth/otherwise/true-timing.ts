/** Kind and period of a message, by the sender's own clock, from what makes it go and the modes it went through. */
import type { MessagePlan, Mode, ModeSpan, ModulePlan, TaskPlan, Trigger, VehiclePlan } from './plan.ts';
import type { Kind } from './true-traffic.ts';

export interface Timing {
  readonly kind: Kind;
  readonly alsoRight: readonly Kind[];
  readonly periodUs: number | null;
  readonly periodUsByMode: Readonly<Partial<Record<Mode, number | null>>> | null;
}

const plain = (kind: Kind, periodUs: number | null = null, alsoRight: readonly Kind[] = []): Timing => ({
  kind,
  alsoRight,
  periodUs,
  periodUsByMode: null,
});

export function timingOf(
  plan: VehiclePlan,
  message: MessagePlan,
  module: ModulePlan,
  modes: readonly ModeSpan[],
  absent: ReadonlySet<number>,
): Timing {
  const { trigger } = message;
  switch (trigger.by) {
    case 'task':
      return onTask(message, trigger, module, modes, absent);
    case 'own timer':
      return plain('periodic', trigger.periodUs + module.lateUs + module.workUs);
    case 'change':
      return onChange(message, trigger, module, modes);
    case 'whim':
      return plain('on-change', null, ['once']);
    case 'request':
      return plain('reply', null, withoutRequest(plan, trigger.of));
    case 'ring':
      return plain('reply', null, ['periodic', 'on-change', 'mixed']);
    case 'keep awake':
      return plain('periodic', trigger.periodUs, ['mixed']);
    case 'copy':
      throw new Error('a copy has the timing of what it copies');
  }
}

/** What an answer looks like to one who does not see the request. */
function withoutRequest(plan: VehiclePlan, of: number): Kind[] {
  return (plan.messages[of] as MessagePlan).trigger.by === 'task' ? ['periodic'] : ['on-change'];
}

const turnUs = (module: ModulePlan, task: number): number => (module.tasks[task] as TaskPlan).periodUs;

function onTask(
  { without }: MessagePlan,
  trigger: Trigger & { by: 'task' },
  module: ModulePlan,
  modes: readonly ModeSpan[],
  absent: ReadonlySet<number>,
): Timing {
  const slower = without && absent.has(without.module) && without.loss === 'slows' ? without.every : 1;
  const periodIn = (mode: Mode): number | null => {
    const every = trigger.inMode?.[mode] ?? trigger.every;
    return every === 0 ? null : every * slower * turnUs(module, trigger.task);
  };
  const awake = [...new Set(modes.map(({ mode }) => mode))].filter((mode) => module.awakeIn.includes(mode));
  const periods = new Set(awake.map(periodIn).filter((us) => us !== null));
  const single = periods.size === 1 ? ([...periods][0] as number) : null;
  if (single !== null && awake.every((mode) => periodIn(mode) !== null)) return plain('periodic', single);
  const periodUsByMode = Object.fromEntries(awake.map((mode) => [mode, periodIn(mode)]));
  return { ...plain('periodic', single), periodUsByMode };
}

/** Fewer changes than this bear out no rule. */
const FEW = 4;

function onChange(
  message: MessagePlan,
  trigger: Trigger & { by: 'change' },
  module: ModulePlan,
  modes: readonly ModeSpan[],
): Timing {
  const awake = modes.filter(({ mode }) => module.awakeIn.includes(mode));
  const changes = message.changesUs.filter((us) => awake.some(({ fromUs, toUs }) => us >= fromUs && us < toUs)).length;
  if (trigger.slowEvery === 0) return plain('on-change', null, changes < FEW ? ['once', 'periodic'] : []);
  return plain('mixed', trigger.slowEvery * turnUs(module, trigger.task), changes < FEW ? ['periodic'] : []);
}
