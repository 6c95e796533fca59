/**
 * How often the confidence of a field comes true on simulated vehicles: `npx tsx tests/truth/fields-calibration.ts SEED...`.
 * Prints, for claims outside and on pages, each bin of the stated confidence with the share that was exactly right, and the
 * non-decreasing shares that fit best (isotonic regression by pooling adjacent violators; Ayer et al., Annals of
 * Mathematical Statistics 26, 1955). The tables of src/fields/confidence.ts are set from this with seeds unlike the tests'.
 */
import { PROFILES, type ProfileName } from '../../src/demo/profiles.ts';
import { findFields } from '../../src/fields/find.ts';
import { driveOf } from '../fields/support/vehicle-streams.ts';
import { newScorecard, scoreDrive, type Scorecard } from './fields-scorecard.ts';

type Claim = Scorecard['claims'][number];
interface Bin {
  stated: number;
  right: number;
  n: number;
}

async function claimsOf(seeds: readonly string[]): Promise<Claim[]> {
  const card = newScorecard();
  for (const seed of seeds) {
    for (const profile of ['plain', 'guarded', 'paged'] as ProfileName[]) {
      const drive = driveOf(profile, seed, Math.min(120, PROFILES[profile].durationS));
      scoreDrive(
        drive,
        await findFields(
          drive.streams.map(({ stream }) => stream),
          {},
          {},
        ),
        card,
      );
    }
  }
  return card.claims;
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

const claims = await claimsOf(process.argv.slice(2).length > 0 ? process.argv.slice(2) : ['calibration']);
print(
  'outside pages',
  claims.filter(({ onPage }) => !onPage),
);
print(
  'on pages',
  claims.filter(({ onPage }) => onPage),
);
