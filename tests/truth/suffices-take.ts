/** What is to be taken along, for the scorecard of "before you cut it up": of vehicles with keyed tags, are those and their senders named, and nobody else? */
import { PROFILES } from '../../src/demo/profiles.ts';
import { makeVehicle } from '../../src/demo/vehicle.ts';
import { whatSuffices } from '../../src/proof/suffices/suffices.ts';
import { formatId } from '../../src/kit/units.ts';
import type { Survey } from '../../src/timing/types.ts';
import { askedOf, record, wholeScript } from './suffices-cases.ts';
import { tellWrong } from './suffices-score.ts';
import { streamKey } from './suffices-truth.ts';

export interface TakeScore {
  tagged: number;
  named: number;
  untrue: number;
  modules: number;
  modulesNamed: number;
  modulesUntrue: number;
  /** Told as unknown: by its identifiers. */
  modulesUnknown: number;
  plugs: number;
  plugsTold: number;
}

export const emptyTake = (): TakeScore => ({
  tagged: 0,
  named: 0,
  untrue: 0,
  modules: 0,
  modulesNamed: 0,
  modulesUntrue: 0,
  modulesUnknown: 0,
  plugs: 0,
  plugsTold: 0,
});

/** Frames with other guards that are asked as well: none of them is keyed. */
const OTHERS = 6;
const KEYED = { ...PROFILES.guarded, keyed: 0.35 };

/** The module that most members of a group are sent by. */
function moduleOf(group: Survey['groups'][number] | undefined, moduleAt: ReadonlyMap<string, number>): number | null {
  const counts = new Map<number, number>();
  for (const member of group?.members ?? []) {
    const module = moduleAt.get(streamKey({ ...member, id: Number(member.id) }));
    if (module !== undefined) counts.set(module, (counts.get(module) ?? 0) + 1);
  }
  const [first] = [...counts].sort((a, b) => b[1] - a[1]);
  return first?.[0] ?? null;
}

export async function judgeTake(seed: number, score: TakeScore): Promise<void> {
  const vehicle = makeVehicle(seed, KEYED);
  const recorded = record(vehicle, wholeScript(seed));
  const own = vehicle.frames.filter(({ diagnostic, copyOf }) => diagnostic === null && copyOf === null);
  const keyOfFrame = ({ map, id, extended }: (typeof own)[number]): string => streamKey({ bus: map.bus, id, extended });
  const moduleAt = new Map(own.map((frame) => [keyOfFrame(frame), frame.module]));
  const heard = new Set(recorded.table.streams.filter(({ count }) => count > 0).map(streamKey));
  const guarded = own.filter((frame) => frame.map.checksums.length > 0 && heard.has(keyOfFrame(frame)));
  const isKeyed = ({ map }: (typeof own)[number]): boolean => map.checksums.some(({ method }) => method === 'mac');
  const tagged = guarded.filter(isKeyed);
  const guardsOf = [...tagged, ...guarded.filter((frame) => !isKeyed(frame)).slice(0, OTHERS)].map(keyOfFrame);
  const asked = await askedOf(recorded, { guardsOf });
  const { take } = whatSuffices(asked);
  const partners = take.find(({ kind }) => kind === 'partner-modules');
  const named = new Set((partners?.frames ?? []).map(({ bus, id, extended }) => `${bus} ${Number(id)} ${extended}`));
  const truth = new Set(tagged.map(keyOfFrame));
  score.tagged += truth.size;
  score.named += [...truth].filter((key) => named.has(key)).length;
  score.untrue += [...named].filter((key) => !truth.has(key)).length;
  const senders = new Set(tagged.map(({ module }) => module));
  const groups = (asked.survey as Survey).groups;
  const told = new Set(
    (partners?.groups ?? []).map((letter) =>
      moduleOf(
        groups.find(({ group }) => group === letter),
        moduleAt,
      ),
    ),
  );
  score.modules += senders.size;
  score.modulesNamed += [...senders].filter((module) => told.has(module)).length;
  const untold = new Set((partners?.untold ?? []).map(({ bus, id, extended }) => `${bus} ${Number(id)} ${extended}`));
  const asUnknown = new Set(tagged.filter((frame) => untold.has(keyOfFrame(frame))).map(({ module }) => module));
  score.modulesUnknown += [...senders].filter((module) => !told.has(module) && asUnknown.has(module)).length;
  score.modulesUntrue += [...told].filter((module) => module === null || !senders.has(module)).length;
  score.plugs += new Set(own.filter((frame) => heard.has(keyOfFrame(frame))).map(({ module }) => module)).size;
  score.plugsTold += groups.length;
  const missing = tagged
    .filter((frame) => !named.has(keyOfFrame(frame)))
    .map(({ id, map }) => `${map.bus} ${formatId(id)}`);
  if (missing.length > 0) tellWrong(`keyed tags not named (${seed}): ${missing.join(', ')}`);
}
