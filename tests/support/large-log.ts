/** A log of a given size in the usual line shape: many identifiers, moving payloads, rising stamps. Written in blocks. */
import { closeSync, openSync, writeSync } from 'node:fs';

const IDENTIFIERS = 48;
const STEP_US = 220;
const LINES_AT_ONCE = 20_000;

function line(number: number): string {
  const us = number * STEP_US;
  const stamp = `${1_780_000_000 + Math.floor(us / 1e6)}.${String(us % 1e6).padStart(6, '0')}`;
  const id = (0x100 + (number % IDENTIFIERS) * 16).toString(16).toUpperCase();
  const slow = (Math.round(2000 + 1500 * Math.sin(number / 90_000 + (number % IDENTIFIERS))) & 0xffff).toString(16);
  const counter = (Math.floor(number / IDENTIFIERS) & 15).toString(16);
  return `(${stamp}) can0 ${id}#00${slow.padStart(4, '0')}00FF00000${counter}\n`.toUpperCase().replace('CAN0', 'can0');
}

/** @returns how many lines were written. */
export function writeLargeLog(path: string, bytes: number): number {
  const file = openSync(path, 'w');
  let written = 0;
  let lines = 0;
  while (written < bytes) {
    const block = Array.from({ length: LINES_AT_ONCE }, (_, i) => line(lines + i)).join('');
    writeSync(file, block);
    written += block.length;
    lines += LINES_AT_ONCE;
  }
  closeSync(file);
  return lines;
}
