/** What the scorecard of "before you cut it up" counts, for each kind of gap. */
export interface Score {
  planted: number;
  named: number;
  proposed: number;
  settled: number;
  short: number;
  untrue: number;
  enough: number;
  missed: number;
}

const COUNTS = ['planted', 'named', 'proposed', 'settled', 'short', 'untrue', 'enough', 'missed'] as const;

export class Scores {
  private readonly byGap = new Map<string, Score>();

  of(gap: string): Score {
    const score = this.byGap.get(gap) ?? (Object.fromEntries(COUNTS.map((count) => [count, 0])) as unknown as Score);
    this.byGap.set(gap, score);
    return score;
  }

  sum(count: keyof Score): number {
    return [...this.byGap.values()].reduce((all, score) => all + score[count], 0);
  }

  text(): string {
    return [...this.byGap]
      .map(
        ([gap, { planted, named, proposed, settled, short, untrue, enough, missed }]) =>
          `${gap.padEnd(34)} named ${named} of ${planted}, settled ${settled} of ${proposed}; ${untrue} of ${short} called short are not, ${missed} of ${enough} called enough`,
      )
      .join('\n');
  }
}

/** LOOMSCRIBE_SHOW_WRONG prints each of what went wrong. */
export function tellWrong(text: string): void {
  if (process.env['LOOMSCRIBE_SHOW_WRONG'] !== undefined) console.log(text);
}
