/**
 * How often the confidence of a field comes true on simulated vehicles: `npx tsx tests/truth/fields-calibration.ts SEED...`.
 * One vehicle of each
 * condition and simulator a seed. Prints, for claims outside and on pages, each bin of the stated confidence with the share that was exactly right, and the
 * non-decreasing shares that fit best (isotonic regression by pooling adjacent violators; Ayer et al., Annals of
 * Mathematical Statistics 26, 1955). It checks the regression of src/fields/confidence.ts, with seeds unlike those it was fitted on.
 */
import { CASES, scoreVehicle } from './fields-conditions.ts';
import type { Claim } from './fields-scorecard.ts';
import { seedOf } from '../../src/kit/random.ts';

interface Bin {
  stated: number;
  right: number;
  n: number;
}

async function claimsOf(bases: readonly string[]): Promise<Claim[]> {
  const claims: Claim[] = [];
  for (const base of bases) {
    for (const each of CASES) {
      const seed = seedOf(`${base} calibration ${each.maker} ${each.condition}`) % 2 ** 30;
      claims.push(...(await scoreVehicle(each, seed)).claims);
    }
  }
  return claims;
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

const SURE_OF = [0.85, 0.95] as const;
const SUREST_RIGHT = 0.98;

/** How many of the surest claims are still right in that share: those of equal confidence are taken together. */
function surest(claims: readonly Claim[]): number {
  const sorted = [...claims].sort((a, b) => b.confidence - a.confidence);
  let [right, most] = [0, 0];
  sorted.forEach((claim, index) => {
    if (claim.right) right++;
    const isLastOfEqual = sorted[index + 1]?.confidence !== claim.confidence;
    if (isLastOfEqual && right >= SUREST_RIGHT * (index + 1)) most = index + 1;
  });
  return most;
}

function printAims(claims: readonly Claim[]): void {
  const about = claims.filter(({ confidence }) => confidence >= SURE_OF[0] && confidence <= SURE_OF[1]);
  const right = about.filter((claim) => claim.right).length;
  console.log(`said ${SURE_OF.join(' to ')}: right ${(right / about.length).toFixed(2)}  n ${about.length}`);
  console.log(`surest claims still ${SUREST_RIGHT} right: ${surest(claims)} of ${claims.length}`);
}

const claims = await claimsOf(process.argv.slice(2).length > 0 ? process.argv.slice(2) : ['calibration']);
print(
  'outside pages',
  claims.filter(({ onPage }) => !onPage),
);
print(
  'on pages',
  claims.filter(({ onPage }) => onPage),
);
printAims(claims);
