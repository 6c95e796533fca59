/** Scores the borders between modes, and the periods of identifiers that change theirs with the mode. */
import type { Survey } from '../../src/timing/types.ts';
import type { TimingTruth } from './timing-scorecard-truth.ts';
import type { Claims } from './support/claims.ts';
import type { Pair, TimingScore } from './timing-scorecard.ts';

/** A slow identifier shows a change up to its period later. */
const NEAR_S = 1;

/** A border is right within a turn; a turn is found where a border lies in it. */
function scoreTurns(survey: Survey, { turns }: TimingTruth): Claims {
  const borders = survey.modes.slice(1).map(({ fromS }) => fromS);
  const lies = (atS: number, { fromS, toS }: TimingTruth['turns'][0]): boolean =>
    atS >= fromS - NEAR_S && atS <= toS + NEAR_S;
  const inside = turns.filter(
    ({ fromS, toS, must }) => must && toS > NEAR_S && fromS < survey.capture.durationS - NEAR_S,
  );
  const found = inside.filter((turn) => borders.some((atS) => lies(atS, turn))).length;
  const wrong = borders.filter((atS) => !turns.some((turn) => lies(atS, turn))).length;
  return { right: found, wrong, missed: inside.length - found };
}

/** So many frames of a mode tell a period, and so near it is right. */
const FRAMES_LEAST = 8;
const NEAR = 0.01;

function scoreModePeriods(pairs: readonly Pair[], survey: Survey, { modes }: TimingTruth): Claims {
  let [right, wrong, missed] = [0, 0, 0];
  for (const { truth, found } of pairs) {
    for (const { mode, fromS, toS } of truth.periodMsByMode ? modes : []) {
      const periodMs = truth.periodMsByMode?.[mode] ?? null;
      if (periodMs === null || (toS - fromS) * 1000 < FRAMES_LEAST * periodMs) continue;
      const middleS = (fromS + toS) / 2;
      const called = survey.modes.find((span) => span.fromS <= middleS && middleS < span.toS)?.mode ?? '';
      const said = (found.timing.byMode?.[called] ?? found.timing).periodMs;
      if (said !== null && Math.abs(said / periodMs - 1) < NEAR) {
        right++;
        continue;
      }
      missed++;
      if (said !== null) wrong++;
    }
  }
  return { right, wrong, missed };
}

export function scoreModes(
  pairs: readonly Pair[],
  survey: Survey,
  truth: TimingTruth,
): Pick<TimingScore, 'turns' | 'modePeriods'> {
  return { turns: scoreTurns(survey, truth), modePeriods: scoreModePeriods(pairs, survey, truth) };
}
