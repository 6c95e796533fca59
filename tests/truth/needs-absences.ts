/** Each module that stayed in a vehicle in turn taken for the part: does the plan say that it needs what was missing where it reacts, and only there? */
import { keepAlivePlan } from '../../src/handover/needs/plan.ts';
import { absenceSeen } from '../../src/jobs/absence-seen.ts';
import { createRandom } from '../../src/kit/random.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import type { MapFrame } from '../../src/map/schema.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { formatId } from '../../src/kit/units.ts';
import { aFrame, aMap } from '../support/map-parts.ts';
import { observe } from './needs-cases.ts';
import { makeTraffic, type TrafficWish } from './otherwise/make-traffic.ts';
import type { Claims } from './support/claims.ts';
import type { Unplugged } from './unplugged-cases.ts';
import { recordOtherwise } from './unplugged-otherwise.ts';

export interface AbsenceScore extends Claims {
  /** Modules taken for the part. */
  readonly parts: number;
  /** Said to go on as before although they react where it can be seen. */
  readonly denied: number;
}

export interface AbsenceCase extends Pick<Unplugged, 'comparison' | 'truth' | 'second'> {
  readonly missing: string;
  /** By module: what it sends. */
  readonly modules: ReadonlyMap<string, readonly MapFrame[]>;
}

export function demoAbsence(found: Unplugged): AbsenceCase {
  const { vehicle, role, comparison, truth, second } = found;
  const modules = vehicle.modules.map(
    ({ letter, role: own }) =>
      [own, vehicle.map.frames.filter(({ sender }) => sender?.group === letter)] as [string, MapFrame[]],
  );
  return { comparison, truth, second, missing: role ?? 'nothing', modules: new Map(modules) };
}

export function otherAbsence(
  wish: Omit<TrafficWish, 'durationS'>,
  [firstS, secondS]: readonly [number, number],
): AbsenceCase {
  const { comparison, truth } = recordOtherwise(wish, [firstS, secondS]);
  const { modules, identifiers } = makeTraffic({ ...wish, durationS: firstS }).truth;
  const place = createRandom(wish.seed).fork('unplugged').below(modules.length);
  const second: FrameTable = makeTraffic({ ...wish, durationS: secondS, take: 1, unplugged: [place] }).table;
  const byModule = modules.map(({ name }) => {
    const own = identifiers.filter(({ module }) => module === name);
    const frames = own.map(({ bus, id, extended }) => aFrame({ bus, id: formatId(id), extended }));
    return [name, frames] as [string, MapFrame[]];
  });
  return { comparison, truth, second, missing: modules[place]?.name ?? '', modules: new Map(byModule) };
}

/** Reactions that may but need not be named leave a part out: they count neither way. */
export function scoreAbsences({ comparison, truth, second, missing, modules }: AbsenceCase): AbsenceScore {
  const absence = absenceSeen({
    name: missing,
    lastsS: second.endUs / 1e6,
    comparison,
    observations: observe(second, 'without it', surveyTable(second, {}), []),
  });
  const score = { right: 0, wrong: 0, missed: 0, parts: 0, denied: 0 };
  for (const [name, own] of modules) {
    const keys = own.map(frameKey);
    const mustReact = keys.some((key) => truth.reacts.has(key));
    if (name === missing || (!mustReact && keys.some((key) => truth.mayReact.has(key)))) continue;
    score.parts++;
    const frames = [...modules].flatMap(([sender, sent]) =>
      sent.map((frame): MapFrame => ({ ...frame, role: sender === name ? 'sent-by-part' : 'other' })),
    );
    const said = keepAlivePlan(aMap(frames), [], [absence]).frames.flatMap(({ reasons }) => reasons);
    const needed = said.some(({ kind, speaksFor }) => kind === 'absence' && speaksFor === 'needed');
    if (needed) score[mustReact ? 'right' : 'wrong']++;
    else if (mustReact) score.missed++;
    if (mustReact && said.some(({ kind, speaksFor }) => kind === 'absence' && speaksFor === 'not-needed'))
      score.denied++;
    if (needed !== mustReact && process.env['LOOMSCRIBE_SHOW_WRONG'])
      console.log(`${name} without ${missing}: ${needed ? 'said to react' : 'not said to react'}`, said[0]?.words);
  }
  return score;
}
