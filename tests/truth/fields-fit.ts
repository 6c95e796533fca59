/**
 * Fits the weights of src/fields/confidence.ts and selector-confidence.ts anew: `npx tsx tests/truth/fields-fit.ts SEED...`. One vehicle of each
 * condition and simulator a seed (LOOMSCRIBE_CONDITIONS and LOOMSCRIBE_MAKERS pick some). Each maker has equal weight, and the claims of a frame
 * together that of their number's root, as they are wrong together. Prints the weights of each group, and how often claims come true by weights that
 * were fitted without their capture, and without their maker. Cells of lists are no surer than their selectors and are not fitted here.
 */
import type { Placement } from '../../src/frames/bits.ts';
import { findFields } from '../../src/fields/find.ts';
import type { FrameFindings, JudgedClaim } from '../../src/fields/types.ts';
import { createRandom, seedOf } from '../../src/kit/random.ts';
import type { When } from '../../src/map/schema.ts';
import { driveOf, pickedCases } from './fields-conditions.ts';
import { presenceOf } from './fields-truth-demo.ts';
import { Sight, type Known, type KnownStream, type Seen } from './fields-truth.ts';
import { fitLogistic, shareOf, type Case } from './logistic.ts';

type Group = JudgedClaim['group'];

/** The terms that each group is judged by: chosen once by what captures left out of the fit lose without them. */
const TERMS: Readonly<Record<Group, readonly string[]>> = {
  flags:
    'margin rivalLonger longerFew bitsPerMove others leastBeside betweenTwo noiseBeside withBelow withAbove alone handful'.split(
      ' ',
    ),
  states:
    'margin rivalCut rivalLonger bitsPerMove rows many unmoved stepShare rise alike noiseBeside withBelow withAbove alone handful'.split(
      ' ',
    ),
  numbers:
    'margin rivalCut rivalLonger orderMargin crossing habitual stepShare rise once lowShare noiseBeside withBelow withAbove touching unmoved handful'.split(
      ' ',
    ),
  pages: 'look saved handful others rise bitsPerMove few many wide'.split(' '),
  selectors: 'listed inTurn run two ahead'.split(' '),
};
const GROUPS = Object.keys(TERMS) as Group[];
const RIDGE = 2;
/** Few captures of the simulators have so few rows: with a handful of them nothing is sure (common practice, no source). */
const PRIOR: Readonly<Record<string, number>> = { handful: -0.7 };

interface Claim extends Case {
  readonly group: Group;
  readonly maker: string;
  readonly capture: string;
}

const keyOf = (place: JudgedClaim['place'], when: When | undefined): string =>
  JSON.stringify([place.lsb.byte, place.lsb.bit, place.length, place.order, when ?? null]);

interface Labelled {
  readonly judged: JudgedClaim;
  readonly right: boolean;
}

/** The claims of one identifier that were judged by weights, with whether they are right. */
function labelled({ frame, stream }: KnownStream, found: FrameFindings, judged: readonly JudgedClaim[]): Labelled[] {
  const sight = new Sight(stream);
  const [fields, others] = [new Map<string, JudgedClaim>(), new Map<string, JudgedClaim>()];
  for (const each of judged) (each.group === 'selectors' ? others : fields).set(keyOf(each.place, each.when), each);
  const rightOf = (
    claims: readonly (JudgedClaim['place'] & { when?: When })[],
    truth: readonly Seen[],
    known: ReadonlyMap<string, JudgedClaim>,
  ): Labelled[] => {
    const wanted = new Set(truth.map(({ key }) => key));
    const seen = sight.seeAll(
      claims.map((claim): Known & { claim: typeof claim } => ({
        ...{ place: claim as Placement, on: presenceOf(claim.when, [...found.selectors]), claim },
      })),
    );
    return seen.flatMap(({ key, of: { claim } }) => {
      const own = known.get(keyOf(claim, claim.when));
      return own ? [{ judged: own, right: wanted.has(key) }] : [];
    });
  };
  const cells = /^One of a list/;
  const truth = sight.seeAll(frame.fields).filter(({ of }) => of.kind !== 'text');
  return [
    ...rightOf(
      found.fields.filter(({ why }) => !cells.test(why)),
      truth,
      fields,
    ),
    ...rightOf(found.selectors, sight.seeAll(frame.selectors), others),
  ];
}

async function claimsOf(base: string): Promise<Claim[]> {
  const claims: Claim[] = [];
  for (const each of pickedCases()) {
    const { maker, condition } = each;
    const drive = driveOf(each, seedOf(`${base} fit ${maker} ${condition}`) % 2 ** 30);
    const judged: JudgedClaim[] = [];
    for (const known of drive.streams) {
      judged.length = 0;
      const [found] = await findFields([known.stream], { watch: (own) => judged.push(own) }, {});
      const own = labelled(known, found as FrameFindings, judged);
      const weight = 1 / Math.sqrt(own.length);
      for (const { judged: by, right } of own) {
        const terms = TERMS[by.group].map((term) => by.terms[term] as number);
        claims.push({ group: by.group, terms, right, weight, maker, capture: `${base} ${maker} ${condition}` });
      }
    }
    console.error(`${base} ${maker} ${condition}: ${claims.length} claims so far`);
  }
  return claims;
}

/** Each maker of equal weight. */
function evened(claims: readonly Claim[]): Claim[] {
  const sums = new Map<string, number>();
  for (const { maker, weight } of claims) sums.set(maker, (sums.get(maker) ?? 0) + weight);
  return claims.map((each) => ({
    ...each,
    weight: (each.weight * claims.length) / sums.size / (sums.get(each.maker) as number),
  }));
}

const fitGroup = (group: Group, claims: readonly Claim[]): number[] =>
  fitLogistic(
    claims.filter((each) => each.group === group),
    { ridge: RIDGE, prior: TERMS[group].map((term) => PRIOR[term] ?? 0) },
  );

const BINS = [0, 0.6, 0.85, 0.95, 0.98, 1.01];

/** How claims come true by weights fitted without those that share their fold. */
function printLeftOut(title: string, claims: readonly Claim[], foldOf: (claim: Claim) => string): void {
  const said = claims.map(() => NaN);
  for (const fold of new Set(claims.map(foldOf)))
    for (const group of GROUPS) {
      const others = claims.filter((each) => foldOf(each) !== fold);
      if (others.filter((each) => each.group === group).length === 0) continue;
      const weights = fitGroup(group, others);
      claims.forEach((each, at) => {
        if (foldOf(each) === fold && each.group === group) said[at] = shareOf(weights, each.terms);
      });
    }
  for (const group of GROUPS) {
    const parts = BINS.slice(1).map((to, bin) => {
      const own = claims.filter(
        (each, at) => each.group === group && said[at]! >= (BINS[bin] as number) && said[at]! < to,
      );
      const right = own.filter((each) => each.right).length / own.length;
      return `from ${BINS[bin]} ${own.length === 0 ? '-' : right.toFixed(3)} (${own.length})`;
    });
    console.log(`${title}, ${group}: ${parts.join('  ')}`);
  }
}

const FOLDS = 10;
const bases = process.argv.slice(2);
const all: Claim[] = [];
for (const base of bases.length > 0 ? bases : ['fit']) all.push(...(await claimsOf(base)));
const claims = evened(all);
const captures = createRandom('folds').shuffle([...new Set(claims.map(({ capture }) => capture))]);
console.log(`${claims.length} claims on ${captures.length} captures`);
for (const group of GROUPS) {
  const [constant, ...weights] = fitGroup(group, claims);
  const lines = TERMS[group].map((term, at) => `  ${term}: ${(weights[at] as number).toFixed(2)},`);
  const own = claims.filter((each) => each.group === group);
  console.log(`${group} (${own.length}):\n  constant: ${(constant as number).toFixed(2)},\n${lines.join('\n')}`);
}
printLeftOut('capture left out', claims, ({ capture }) => String(captures.indexOf(capture) % FOLDS));
printLeftOut('maker left out', claims, ({ maker }) => maker);
