/**
 * From surprises to p and q. p is counted in the pool of all shifts, and is never below the share of the field's own
 * shifts that do as well (a field that beats time with the marks has many). q is Benjamini-Hochberg over
 * all fields and directions of the action, with fields that say the same thing counted as one discovery.
 */
import { aboutMean, correlation, type AboutMean } from '../kit/statistics/correlation.ts';
import { clusteredQValues } from '../kit/statistics/false-discovery.ts';
import { LAG_FROM, LAG_TO, type ActionEvidence, type Evidence } from './evidence.ts';
import { SHIFT_S } from './grid.ts';
import { poolTail } from './null-pool.ts';

export const CLAIM_Q = 0.05;
/**
 * Exceedances that come together and count as one: the shifts that share a lag window, those that share a response's
 * width (about two seconds), and the near copies in which a vehicle sends most of its quantities.
 */
const CLUMP = 2 * (LAG_TO - LAG_FROM + 1 + 2 / SHIFT_S);
const SAME_ANSWER = 0.6;
const COMPARED_MAX = 250;

export interface Claim {
  readonly evidence: Evidence;
  readonly p: number;
  readonly q: number;
}

/** A field's responses at all shifts, for telling whether two fields say the same thing. */
export type ResponseOf = (evidence: Evidence) => Float64Array;

function withP({ evidence, pool }: ActionEvidence): { evidence: Evidence; p: number }[] {
  const tail = poolTail(pool, CLUMP);
  return evidence.map((one) => ({ evidence: one, p: Math.min(1, Math.max(tail(one.surprise), one.ownShare)) }));
}

const NATS_STEP = 0.25;
const NATS_MOST = 400;

/** Least surprise with which a single field would be claimed among as many tests; null where none would do or nothing was tested. */
export function natsToClaim({ evidence, pool }: ActionEvidence): number | null {
  if (evidence.length === 0) return null;
  const tail = poolTail(pool, CLUMP);
  for (let nats = 0; nats <= NATS_MOST; nats += NATS_STEP) if (tail(nats) * evidence.length <= CLAIM_Q) return nats;
  return null;
}

/** Cluster numbers: the same field, or responses that move together, joined one by one. */
function clustersOf(compared: readonly Evidence[], responseOf: ResponseOf): number[] {
  const cluster = compared.map((_, i) => i);
  const responses = compared.map((one) => aboutMean(responseOf(one)));
  const rename = (from: number, to: number): void => {
    for (let i = 0; i < cluster.length; i++) if (cluster[i] === from) cluster[i] = to;
  };
  for (let i = 1; i < compared.length; i++) {
    for (let j = 0; j < i; j++) {
      if (cluster[i] === cluster[j]) continue;
      const sameField = (compared[i] as Evidence).candidate === (compared[j] as Evidence).candidate;
      const together =
        sameField || Math.abs(correlation(responses[i] as AboutMean, responses[j] as AboutMean)) >= SAME_ANSWER;
      if (together) rename(cluster[i] as number, cluster[j] as number);
    }
  }
  return cluster;
}

/** All tests of one action with p and q, most surprising first. */
export function claimsOf(action: ActionEvidence, responseOf: ResponseOf): Claim[] {
  const tested = withP(action).sort((a, b) => a.p - b.p || b.evidence.surprise - a.evidence.surprise);
  const compared = tested.filter(({ p }) => p <= CLAIM_Q).slice(0, COMPARED_MAX);
  const clusters = clustersOf(
    compared.map(({ evidence }) => evidence),
    responseOf,
  );
  const cluster = tested.map((_, i) => clusters[i] ?? tested.length + i);
  const q = clusteredQValues(
    tested.map(({ p }) => p),
    cluster,
    tested.length,
  );
  return tested.map(({ evidence, p }, i) => ({ evidence, p, q: q[i] as number }));
}
