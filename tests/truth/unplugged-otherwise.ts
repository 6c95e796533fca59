/** The same for the second simulator: two takes of one vehicle, the second shorter and with a module unplugged. */
import { createRandom } from '../../src/kit/random.ts';
import { compareTables } from '../../src/proof/compare.ts';
import { makeTraffic, type TrafficWish } from './otherwise/make-traffic.ts';
import { keyOfTrue } from './timing-scorecard-truth.ts';
import type { Truth, Unplugged } from './unplugged-cases.ts';

/**
 * Copies that a gateway makes of silent ones, and answers to silent questions, stop with them: whether an answer is the missing
 * module's own cannot be seen, so it counts neither way. Token rings turn faster with one member fewer.
 */
export function recordOtherwise(
  wish: Omit<TrafficWish, 'durationS'>,
  seconds: readonly [number, number],
): Pick<Unplugged, 'comparison' | 'truth'> {
  const first = makeTraffic({ ...wish, durationS: seconds[0] });
  const place = createRandom(wish.seed).fork('unplugged').below(first.truth.modules.length);
  const second = makeTraffic({ ...wish, durationS: seconds[1], take: 1, unplugged: [place] });
  const module = first.truth.modules[place]?.name;
  const own = first.truth.identifiers.filter((each) => each.module === module && each.copyOf === null);
  const along = first.truth.identifiers.filter((each) => each.replyTo !== null && each.module !== module);
  const rings = first.truth.identifiers.filter(({ network }) => network === 'ring');
  const reactions = second.truth.unplugged.reactions.filter(({ loss }) => loss !== 'stops');
  const truth: Truth = {
    sentBy: new Set(own.map(keyOfTrue)),
    maySend: new Set(along.map(keyOfTrue)),
    reacts: new Set(reactions.map(keyOfTrue)),
    mayReact: new Set([...rings, ...along, ...second.truth.unplugged.reactions].map(keyOfTrue)),
  };
  return { comparison: compareTables(first.table, second.table), truth };
}
