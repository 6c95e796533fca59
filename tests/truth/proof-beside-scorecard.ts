/** What the proof says where readings and marks were taken beside the recording: of the true map, and of scales and offsets that are off. */
import type { Random } from '../../src/kit/random.ts';
import { proveMap } from '../../src/proof/hold/prove-map.ts';
import type { ProofItem, ProofReport } from '../../src/proof/hold/types.ts';
import type { SCALE_FAULTS } from './proof-beside.ts';
import { plantScales, scalesShown, type BesideCase } from './proof-beside.ts';

export interface BesideScore {
  readonly items: number;
  readonly refused: number;
  /** Scales that the readings show by the truth, and those of them that hold. */
  readonly shown: number;
  readonly shownHeld: number;
  /** Aspects that hold, whatever the truth shows: scales, laws, answers. */
  readonly held: Readonly<Record<'scale' | 'law' | 'answer', number>>;
  /** Per kind of fault: exercised, and of these refused. */
  readonly faults: Readonly<
    Record<(typeof SCALE_FAULTS)[number], { readonly exercised: number; readonly refused: number }>
  >;
  readonly refusedElse: number;
  readonly wrong: readonly string[];
}

type Own = { readonly id: string; readonly item: ProofItem };
const itemsOf = ({ frames }: ProofReport): Own[] =>
  frames.flatMap(({ id, items }) => items.map((item) => ({ id, item })));
const keyOf = ({ id, item }: Own): string => `${id} ${item.name}`;
const scaleOf = ({ item }: Own) => item.aspects?.find(({ aspect }) => aspect === 'scale')?.verdict;

export async function scoreBeside(each: BesideCase, random: Random): Promise<BesideScore> {
  const { second, map, name } = each;
  const [dense] = second.references;
  if (!dense) throw new Error('no readings beside the recording');
  const reference = { file: dense.file, offset: 'auto' as const };
  const marks = { file: second.marks, offset: 'auto' as const };
  const { table } = second;
  const items = itemsOf(await proveMap({ table, map, reference, marks }));
  const refused = items.filter(({ item }) => item.verdict === 'fails');
  const isShown = scalesShown(second, [dense]);
  const shown = items.filter((own) => own.item.item === 'signal' && isShown.has(keyOf(own)));
  const open = shown.filter((own) => scaleOf(own) !== 'holds');
  const held = { scale: 0, law: 0, answer: 0 };
  for (const { item } of items)
    for (const { aspect, verdict } of item.aspects ?? [])
      if (verdict === 'holds' && aspect in held) held[aspect as keyof typeof held]++;
  const planted = plantScales(each, [dense], random);
  const found = itemsOf(await proveMap({ table, map: planted.map, reference }));
  const faults = { scale: { exercised: 0, refused: 0 }, offset: { exercised: 0, refused: 0 } };
  const passed: string[] = [];
  for (const { key, kind, exercised, words } of planted.faults) {
    if (!exercised) continue;
    faults[kind].exercised++;
    const own = found.find((one) => one.item.item === 'signal' && keyOf(one) === key);
    if (own?.item.verdict === 'fails') faults[kind].refused++;
    else passed.push(`${name} passes: ${key}, ${words}: ${own?.item.detail}`);
  }
  const touched = new Set(planted.faults.map(({ key }) => key));
  const others = found.filter((own) => own.item.verdict === 'fails' && !touched.has(keyOf(own)));
  const tell = (what: string) => (own: Own) => `${name} ${what}: ${keyOf(own)}: ${own.item.detail}`;
  return {
    items: items.length,
    refused: refused.length,
    shown: shown.length,
    shownHeld: shown.length - open.length,
    held,
    faults,
    refusedElse: others.length,
    wrong: [
      ...refused.map(tell('true, refused')),
      ...open.map(tell('true, open')),
      ...passed,
      ...others.map(tell('refused beside the faults')),
    ],
  };
}
