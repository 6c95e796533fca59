/**
 * States named from what was marked: when a mark says "park", the raw value that the field then held is proposed as
 * "park". Every proposal says how many marks stand behind it, and how many speak against it.
 */
export interface SaidValue {
  /** What the mark says: its value, else its action. */
  readonly word: string;
  /** The field's unsigned raw value then; NaN where there was no frame. */
  readonly raw: number;
}

export interface StateProposal {
  readonly raw: number;
  readonly name: string;
  readonly marks: number;
  /** Marks that held this raw value and said something else. */
  readonly against: number;
}

/** One proposal a raw value at most, by raw value. A word goes to the raw value that most of its marks held. */
export function proposeStates(said: readonly SaidValue[]): StateProposal[] {
  const counts = new Map<number, Map<string, number>>();
  for (const { word, raw } of said) {
    if (!Number.isFinite(raw) || !word) continue;
    const words = counts.get(raw) ?? new Map<string, number>();
    words.set(word, (words.get(word) ?? 0) + 1);
    counts.set(raw, words);
  }
  const proposals: StateProposal[] = [];
  for (const [raw, words] of counts) {
    const total = [...words.values()].reduce((sum, n) => sum + n, 0);
    const ranked = [...words].sort((a, b) => b[1] - a[1]);
    const best = ranked[0];
    // Two words that are said equally often of one value say nothing about it.
    if (!best || ranked[1]?.[1] === best[1]) continue;
    if (holdsElsewhereMore(counts, raw, best[0], best[1])) continue;
    proposals.push({ raw, name: best[0], marks: best[1], against: total - best[1] });
  }
  return proposals.sort((a, b) => a.raw - b.raw);
}

function holdsElsewhereMore(
  counts: Map<number, Map<string, number>>,
  raw: number,
  word: string,
  here: number,
): boolean {
  for (const [other, words] of counts) if (other !== raw && (words.get(word) ?? 0) > here) return true;
  return false;
}

/** "said by 3 marks", "said by 1 mark only", "said by 4 marks, 1 says otherwise". */
export function proposalWords({ marks, against }: StateProposal): string {
  const said = marks === 1 ? 'said by 1 mark only' : `said by ${marks} marks`;
  return against === 0 ? said : `${said}, ${against} ${against === 1 ? 'says' : 'say'} otherwise`;
}

export interface MarkLike {
  readonly action: string;
  readonly startS: number;
  readonly endS: number | null;
  readonly value?: string | undefined;
}

/** When to look, in capture seconds: the middle of a span; after an instant, half a second or halfway to the next mark. */
export function momentOf(mark: MarkLike, all: readonly MarkLike[], offsetS: number): number {
  if (mark.endS !== null && mark.endS > mark.startS) return (mark.startS + mark.endS) / 2 + offsetS;
  const next = all.reduce((least, { startS }) => (startS > mark.startS ? Math.min(least, startS) : least), Infinity);
  return mark.startS + Math.min(0.5, (next - mark.startS) / 2) + offsetS;
}
