/**
 * A test program around the generated C of one map: reads records (frame number, payload) from standard input and prints a line for each: what decode
 * says and every member, numbers as the 64 bits of their double; then what encode says and the bytes it makes of the
 * same struct. Only integers are printed, so that every machine prints the same letters.
 */
import type { CCode } from '../../../src/handover/c/source.ts';
import { membersOf } from '../../support/c-driver.ts';
import type { CapturedFrame } from './map-case.ts';

function frameCase(code: CCode, index: number): string {
  const { frame, stem, encodes } = code.frames[index] as CCode['frames'][number];
  const prints = membersOf(code.header, stem).map(({ type, member, text }) => {
    const valid = `printf(" %u:", (unsigned)s.${member}_valid);`;
    if (text) return `${valid} print_bytes((const unsigned char *)s.${member}, sizeof s.${member} - 1u);`;
    return type === 'double' ? `${valid} print_double(s.${member});` : `${valid} print_word((uint64_t)s.${member});`;
  });
  const encode = `memset(out, 0, sizeof out); status = (int)${stem}_encode(&s, out); printf(" | %d ", status);
      print_bytes(out, ${frame.length}u);`;
  return `
    case ${index}: { ${stem} s; int status; ${stem}_init(&s);
      status = (int)${stem}_decode(&s, p, length); printf("%d", status);
      ${prints.join('\n      ')}
      ${encodes ? encode : 'printf(" | -");'}
      printf("\\n"); break; }`;
}

export function driverOf(code: CCode): string {
  return `#include "signal_map.h"
#include <stdio.h>
#include <string.h>
static void print_word(uint64_t word)
{
  printf("%08lX%08lX", (unsigned long)(word >> 32), (unsigned long)(word & 0xFFFFFFFFu));
}
static void print_double(double value)
{
  uint64_t bits;
  memcpy(&bits, &value, sizeof bits);
  print_word(bits);
}
static void print_bytes(const unsigned char *bytes, size_t size)
{
  size_t i;
  for (i = 0; i < size; i++) printf("%02X", (unsigned)bytes[i]);
}
int main(void)
{
  uint8_t head[3];
  uint8_t p[64];
  uint8_t out[64];
  memset(out, 0, sizeof out);
  print_bytes(out, 1u);
  print_double(0.0);
  printf("\\n");
  while (fread(head, 1, sizeof head, stdin) == sizeof head) {
    const size_t length = head[2];
    if (fread(p, 1, length, stdin) != length) return 1;
    switch (head[0] | (head[1] << 8)) {${code.frames.map((_, index) => frameCase(code, index)).join('')}
    default: return 2;
    }
  }
  return 0;
}
`;
}

export function recordsOf(capture: readonly CapturedFrame[]): Uint8Array {
  const size = capture.reduce((sum, { payload }) => sum + 3 + payload.length, 0);
  const records = new Uint8Array(size);
  let at = 0;
  for (const { index, payload } of capture) {
    records.set([index & 255, index >> 8, payload.length], at);
    records.set(payload, at + 3);
    at += 3 + payload.length;
  }
  return records;
}

export interface DriverLine {
  readonly status: string;
  /** "valid:value" a member. */
  readonly members: readonly string[];
  /** null where the frame has no encoder. */
  readonly encoded: { readonly status: string; readonly bytes: string } | null;
}

/** All lines but the first, which only says that the program ran. */
export function linesOf(output: string): DriverLine[] {
  return output
    .trimEnd()
    .split('\n')
    .slice(1)
    .map((line) => {
      const [left = '', right = ''] = line.split(' | ');
      const [status = '', ...members] = left.split(' ');
      const [encodedStatus = '', bytes = ''] = right.split(' ');
      return { status, members, encoded: right === '-' ? null : { status: encodedStatus, bytes } };
    });
}
