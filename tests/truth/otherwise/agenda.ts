/** What is to happen, in order of time; of equal times, what was put down first. A binary heap (Williams 1964). */
export type Act = (nowUs: number) => void;

export class Agenda {
  private readonly times: number[] = [];
  private readonly ranks: number[] = [];
  private readonly acts: Act[] = [];
  private put = 0;

  at(timeUs: number, act: Act): void {
    let place = this.times.length;
    const rank = this.put++;
    while (place > 0) {
      const parent = (place - 1) >> 1;
      if ((this.times[parent] as number) <= timeUs) break;
      this.move(parent, place);
      place = parent;
    }
    this.set(place, timeUs, rank, act);
  }

  /** Runs all that is due before `endUs`, what comes up on the way included. */
  runUntil(endUs: number): void {
    while (this.times.length > 0 && (this.times[0] as number) < endUs) {
      const now = this.times[0] as number;
      const act = this.acts[0] as Act;
      this.removeFirst();
      act(now);
    }
  }

  private removeFirst(): void {
    const time = this.times.pop() as number;
    const rank = this.ranks.pop() as number;
    const act = this.acts.pop() as Act;
    const size = this.times.length;
    if (size === 0) return;
    let place = 0;
    for (;;) {
      let child = 2 * place + 1;
      if (child >= size) break;
      if (child + 1 < size && this.isBefore(child + 1, this.times[child] as number, this.ranks[child] as number)) {
        child++;
      }
      if (!this.isBefore(child, time, rank)) break;
      this.move(child, place);
      place = child;
    }
    this.set(place, time, rank, act);
  }

  private isBefore(place: number, time: number, rank: number): boolean {
    const own = this.times[place] as number;
    return own < time || (own === time && (this.ranks[place] as number) < rank);
  }

  private move(from: number, to: number): void {
    this.set(to, this.times[from] as number, this.ranks[from] as number, this.acts[from] as Act);
  }

  private set(place: number, time: number, rank: number, act: Act): void {
    this.times[place] = time;
    this.ranks[place] = rank;
    this.acts[place] = act;
  }
}
