/**
 * A test program around generated C: reads records (frame number, payload) from standard input, prints what was decoded (or
 * that nothing was taken, and whether the struct was left alone), then encodes the same values over the rest payload and prints the bytes.
 */
import type { CCode } from '../../src/handover/c/source.ts';

/** Members of the struct of one frame, read out of the header's own text. */
export function membersOf(header: string, stem: string): { type: string; member: string; text: boolean }[] {
  const body = new RegExp(`typedef struct \\{([^}]*)\\} ${stem};`).exec(header)?.[1] ?? '';
  const declared = [...body.matchAll(/^ {2}(double|u?int32_t|u?int64_t|char) (\w+)(\[\d+\])?;/gm)];
  return declared
    .map(([, type, member, size]) => ({ type: type ?? '', member: member ?? '', text: size !== undefined }))
    .filter(({ member }) => body.includes(` ${member}_valid;`));
}

export function driverSource(code: CCode): string {
  const cases = code.frames.map(({ frame, stem, encodes }, index) => {
    const prints = membersOf(code.header, stem).map(({ type, member, text }) => {
      if (text) return `printf(" %u:", s.${member}_valid); print_text(s.${member}, sizeof s.${member} - 1u);`;
      if (type === 'double') return `printf(" %u:%.17g", s.${member}_valid, s.${member});`;
      if (type.startsWith('int')) return `printf(" %u:%lld", s.${member}_valid, (long long)s.${member});`;
      return `printf(" %u:%llu", s.${member}_valid, (unsigned long long)s.${member});`;
    });
    const encode = `
      { ${stem} tx; ${stem} fresh; uint8_t out[64]; size_t i; int status;
        ${stem}_init(&fresh); tx = s; memcpy(tx.payload, fresh.payload, sizeof tx.payload); memset(out, 0, sizeof out);
        status = (int)${stem}_encode(&tx, out); printf(" | %d ", status);
        for (i = 0; i < ${frame.length}u; i++) printf("%02X", out[i]); }`;
    return `
    case ${index}: { ${stem} s; ${stem} before; int status; memset(&s, 0x5A, sizeof s); before = s;
      status = (int)${stem}_decode(&s, p, length); printf("%d", status);
      if (status != 0) { printf(memcmp(&s, &before, sizeof s) == 0 ? " kept\\n" : " changed\\n"); break; }
      ${prints.join('\n      ')}
      ${encodes ? encode : 'printf(" | -");'}
      printf("\\n"); break; }`;
  });
  return `#include "signal_map.h"
#include <stdio.h>
#include <string.h>
static void print_text(const char *text, size_t size)
{
  size_t i;
  for (i = 0; i < size; i++) printf("%02X", (unsigned)(unsigned char)text[i]);
}
int main(void)
{
  uint8_t head[3];
  uint8_t p[64];
  print_text("", 0u);
  while (fread(head, 1, sizeof head, stdin) == sizeof head) {
    const size_t length = head[2];
    if (fread(p, 1, length, stdin) != length) return 1;
    switch (head[0] | (head[1] << 8)) {${cases.join('')}
    default: return 2;
    }
  }
  return 0;
}
`;
}

/** One record for the driver. */
export const record = (index: number, payload: Uint8Array): number[] => [
  index & 255,
  index >> 8,
  payload.length,
  ...payload,
];
