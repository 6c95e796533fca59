/** Moments at which traffic on a period changes its manner: which messages, and from when to when the change takes effect. */
import type { MessagePlan, Mode, ModulePlan } from './plan.ts';
import type { Told } from './tell-truth.ts';
import type { Turn } from './true-traffic.ts';

/** Turns of a task between two frames in a mode; 0: not sent on a period. */
function everyIn({ trigger }: MessagePlan, module: ModulePlan, mode: Mode): number {
  if (!module.awakeIn.includes(mode)) return 0;
  if (trigger.by === 'own timer' || trigger.by === 'keep awake') return 1;
  return trigger.by === 'task' ? (trigger.inMode?.[mode] ?? trigger.every) : 0;
}

/** How long after a change of mode its frames show it. One that stops shuts down first: at once it keeps nobody awake. */
function effectsUs(module: ModulePlan, before: Mode, after: Mode): number[] {
  const [was, is] = [module.awakeIn.includes(before), module.awakeIn.includes(after)];
  if (was && !is) return [0, module.lingerUs];
  return [is && !was ? module.bootUs : module.followsUs];
}

export function turnsOf({ plan, modes, resets }: Told, captureS: (trueUs: number) => number): Turn[] {
  const byMode = modes.slice(1).map(({ mode, fromUs }, place): Turn => {
    const before = modes[place]?.mode as Mode;
    const moduleOf = (message: MessagePlan): ModulePlan => plan.modules[message.module] as ModulePlan;
    const changed = plan.messages.filter(
      (message) => everyIn(message, moduleOf(message), before) !== everyIn(message, moduleOf(message), mode),
    );
    const effects = changed.flatMap((message) => effectsUs(moduleOf(message), before, mode));
    const [fromS, toS] = [Math.min(...effects), Math.max(...effects)].map((us) => captureS(fromUs + us)) as [
      number,
      number,
    ];
    return { because: 'mode', fromS, toS, identifiers: changed.length };
  });
  const byReset = resets.map(({ module, atUs, forUs }): Turn => {
    const identifiers = plan.messages.filter((message) => message.module === module).length;
    return { because: 'reset', fromS: captureS(atUs), toS: captureS(atUs + forUs), identifiers };
  });
  return [...byMode.filter(({ identifiers }) => identifiers > 0), ...byReset].sort((a, b) => a.fromS - b.fromS);
}
