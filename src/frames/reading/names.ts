/** Names that recur as bytes, such as buses: finds the number of a known one without making a string. */
import { textOf } from './lines.ts';

interface Known {
  readonly bytes: Uint8Array;
  readonly value: number;
}

export class NameMatcher {
  private readonly known: Known[] = [];
  private last: Known | null = null;

  constructor(private readonly valueOf: (name: string) => number) {}

  match(bytes: Uint8Array, from: number, to: number): number {
    if (this.last !== null && isSame(this.last.bytes, bytes, from, to)) return this.last.value;
    return this.search(bytes, from, to);
  }

  private search(bytes: Uint8Array, from: number, to: number): number {
    let found: Known | null = null;
    for (let i = 0; i < this.known.length && found === null; i++) {
      const each = this.known[i] as Known;
      if (isSame(each.bytes, bytes, from, to)) found = each;
    }
    if (found === null) {
      found = { bytes: bytes.slice(from, to), value: this.valueOf(textOf(bytes, from, to).trim()) };
      if (this.known.length < 1000) this.known.push(found);
    }
    this.last = found;
    return found.value;
  }
}

function isSame(name: Uint8Array, bytes: Uint8Array, from: number, to: number): boolean {
  if (name.length !== to - from) return false;
  for (let i = 0; i < name.length; i++) if (name[i] !== bytes[from + i]) return false;
  return true;
}
