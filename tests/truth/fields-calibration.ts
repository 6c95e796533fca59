/**
 * How often the confidence of a field comes true on simulated vehicles: `npx tsx tests/truth/fields-calibration.ts SEED...`.
 * One vehicle of each
 * condition and simulator a seed (LOOMSCRIBE_CONDITIONS and LOOMSCRIBE_MAKERS pick some). Prints, for claims outside and on pages, each bin of the stated confidence with the share that was exactly right, and the
 * non-decreasing shares that fit best (isotonic regression by pooling adjacent violators; Ayer et al., Annals of
 * Mathematical Statistics 26, 1955). It checks the regression of src/fields/confidence.ts, with seeds unlike those it was fitted on.
 */
import { pickedCases, scoreVehicle } from './fields-conditions.ts';
import { aboutNinety, sureShare } from './fields-scorecard-print.ts';
import { addCard, newScorecard, type Claim, type Scorecard } from './fields-scorecard.ts';
import { seedOf } from '../../src/kit/random.ts';

interface Bin {
  stated: number;
  right: number;
  n: number;
}

async function cardOf(bases: readonly string[]): Promise<Scorecard> {
  const sum = newScorecard();
  for (const base of bases) {
    for (const each of pickedCases()) {
      const seed = seedOf(`${base} calibration ${each.maker} ${each.condition}`) % 2 ** 30;
      addCard(sum, await scoreVehicle(each, seed));
    }
  }
  return sum;
}

const BINS = 20;

function binsOf(claims: readonly Claim[]): Bin[] {
  const bins = Array.from({ length: BINS }, (): Bin => ({ stated: 0, right: 0, n: 0 }));
  for (const { confidence, right } of claims) {
    const bin = bins[Math.min(BINS - 1, Math.floor(confidence * BINS))] as Bin;
    bin.stated += confidence;
    bin.right += right ? 1 : 0;
    bin.n++;
  }
  return bins.filter(({ n }) => n > 0).map((bin) => ({ ...bin, stated: bin.stated / bin.n }));
}

/** Share right of each bin, made non-decreasing. */
function isotonic(bins: readonly Bin[]): number[] {
  const blocks: { right: number; n: number; bins: number }[] = [];
  for (const { right, n } of bins) {
    blocks.push({ right, n, bins: 1 });
    for (;;) {
      const [before, last] = [blocks.at(-2), blocks.at(-1)];
      if (!before || !last || before.right / before.n <= last.right / last.n) break;
      blocks.splice(-2, 2, { right: before.right + last.right, n: before.n + last.n, bins: before.bins + last.bins });
    }
  }
  return blocks.flatMap(({ right, n, bins: span }) => new Array<number>(span).fill(right / n));
}

function print(title: string, claims: readonly Claim[]): void {
  const bins = binsOf(claims);
  const fitted = isotonic(bins);
  console.log(`${title}: ${claims.length} claims`);
  bins.forEach(({ stated, right, n }, i) =>
    console.log(
      `  said ${stated.toFixed(2)}  right ${(right / n).toFixed(2)}  fitted ${fitted[i]!.toFixed(2)}  n ${n}`,
    ),
  );
}

const card = await cardOf(process.argv.slice(2).length > 0 ? process.argv.slice(2) : ['calibration']);
for (const onPage of [false, true])
  print(
    onPage ? 'on pages' : 'outside pages',
    card.claims.filter((claim) => claim.onPage === onPage),
  );
const { share, n } = aboutNinety(card.claims);
console.log(`called about 0.9 sure: ${share.toFixed(3)} right of ${n}`);
console.log(`the surest claims that are 0.98 right cover ${sureShare(card).toFixed(3)} of all true fields`);
