/** Short captures of one machine, each named after the one thing that is done in it a few times, as good as one long recording with marks. */
import type { FrameTable } from '../../../src/frames/table.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { makeEvidenceVehicle, type EvidenceVehicle, type EvidenceWish } from './make-evidence.ts';
import type { EvidenceTruth, TrueAction } from './truth.ts';

export interface ShortCapture {
  /** "horn 2"; where nothing is done: "nothing". */
  readonly name: string;
  /** Null where nothing is done. */
  readonly action: string | null;
  readonly table: FrameTable;
  readonly truth: EvidenceTruth;
}

export interface EvidenceDossier {
  readonly captures: readonly ShortCapture[];
  /** A long recording of the same machine. */
  readonly machine: EvidenceVehicle;
}

const CAPTURES = 20;
const UNANSWERED_MOST = 3;

/** Two of each action, as far as twenty reach, some of them actions that nothing on the bus answers; and two in which nothing is done. */
export function makeEvidenceDossier(seed: number | string, wish: EvidenceWish = {}): EvidenceDossier {
  const machine = makeEvidenceVehicle(seed, { ...wish, recording: 'drive', confounded: false });
  const random = createRandom(`evidence dossier ${seed}`);
  const done = machine.truth.actions.filter(({ action }) => action !== 'key' && action !== 'plug');
  const namesOf = (sort: TrueAction['sort']): string[] =>
    done.filter((each) => each.sort === sort).map(({ action }) => action);
  const unanswered = namesOf('unanswered').slice(0, UNANSWERED_MOST);
  const names = [...namesOf('answered').slice(0, CAPTURES / 2 - 1 - unanswered.length), ...unanswered];
  const captures = [...names, ...names, 'nothing', 'nothing'].slice(0, CAPTURES).map((action, at): ShortCapture => {
    const take = at < names.length ? 1 : 2;
    const short = { ...wish, confounded: false, seconds: random.between(14, 26), recording: { only: action, take } };
    const { table, truth } = makeEvidenceVehicle(seed, short);
    return {
      name: take === 1 ? action : `${action} ${take}`,
      action: action === 'nothing' ? null : action,
      table,
      truth,
    };
  });
  return { captures: random.shuffle(captures), machine };
}
