/** The account of one file: every line or record is accepted, rejected with its reason, or passed over. */
import type { Reject } from '../table.ts';

const REJECTS_KEPT = 100;
const TEXT_KEPT = 200;
const REASONS_KEPT = 60;

export class Ledger {
  accepted = 0;
  rejected = 0;
  passedOver = 0;
  readonly rejects: Reject[] = [];
  private readonly reasons = new Map<string, number>();

  /** Lines or records so far; while one is being taken, the number of the one before. */
  get lines(): number {
    return this.accepted + this.rejected + this.passedOver;
  }

  reject(text: string, reason: string): void {
    if (this.rejects.length < REJECTS_KEPT) {
      this.rejects.push({ line: this.lines + 1, text: printable(text).slice(0, TEXT_KEPT), reason });
    }
    this.rejected++;
    const known = this.reasons.has(reason) || this.reasons.size < REASONS_KEPT ? reason : 'other reasons';
    this.reasons.set(known, (this.reasons.get(known) ?? 0) + 1);
  }

  /** Most frequent first. */
  rejectReasons(): { reason: string; count: number }[] {
    const counts = [...this.reasons].map(([reason, count]) => ({ reason, count }));
    return counts.sort((a, b) => b.count - a.count);
  }
}

/** Unprintable characters as "·"; a tab as a space. */
function printable(text: string): string {
  return text.replace(/\t/g, ' ').replace(/[\u0000-\u001f\u007f-\u009f\ufffd]/g, '·');
}
