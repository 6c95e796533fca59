/**
 * Network management by a token: each awake module names its successor and passes on when it was named, about 100 ms later; who
 * boots announces itself and is taken in; a lost token is begun anew. General principle of logical rings, common practice, no source.
 */
import type { Random } from '../../../src/kit/random.ts';
import type { ModuleRun } from './module-run.ts';
import type { RingPlan } from './plan.ts';

const ANNOUNCE = 1;
const PASS = 2;
/** Silence after which the lowest node begins anew, in passing times. */
const LOST_AFTER = 2.6;

export class Ring {
  private heardUs = -Infinity;
  private readonly nodes: readonly number[];

  constructor(
    private readonly plan: RingPlan,
    /** By node. */
    private readonly modules: readonly ModuleRun[],
    private readonly random: Random,
    /** No node passes on in a vehicle that shuts down. */
    private readonly mayRun: (module: ModuleRun) => boolean,
  ) {
    this.nodes = modules.map((_, node) => node);
    modules.forEach((module, node) => {
      module.onBoot.push((nowUs) => this.join(node, nowUs));
    });
  }

  /** A frame of the ring was on the wire. */
  hear(payload: Uint8Array, nowUs: number): void {
    this.heardUs = nowUs;
    const named = payload[0] as number;
    if (payload[1] !== PASS) return;
    const module = this.modules[named];
    if (!module?.awake) return;
    module.after(nowUs, this.plan.passUs + this.random.between(0, 0.03) * this.plan.passUs, (now) =>
      this.say(named, PASS, now),
    );
  }

  private join(node: number, nowUs: number): void {
    const module = this.modules[node] as ModuleRun;
    module.after(nowUs, this.random.between(2_000, 30_000), (now) => {
      this.say(node, ANNOUNCE, now);
      this.watch(node, now);
    });
  }

  private watch(node: number, nowUs: number): void {
    const module = this.modules[node] as ModuleRun;
    module.after(nowUs, LOST_AFTER * this.plan.passUs, (now) => {
      const lowest = this.nodes.find((other) => this.modules[other]?.awake);
      if (lowest === node && now - this.heardUs >= 0.99 * LOST_AFTER * this.plan.passUs) this.say(node, PASS, now);
      this.watch(node, now);
    });
  }

  private say(node: number, what: number, nowUs: number): void {
    const module = this.modules[node] as ModuleRun;
    if (!module.awake || !this.mayRun(module)) return;
    module.ask(this.plan.messages[node] as number, nowUs, null, (payload) => {
      payload[0] = what === ANNOUNCE ? node : this.successor(node);
      payload[1] = what;
    });
  }

  private successor(node: number): number {
    const awake = this.nodes.filter((other) => this.modules[other]?.awake);
    return awake.find((other) => other > node) ?? awake[0] ?? node;
  }
}
