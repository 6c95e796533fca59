/**
 * The compilers that generated code is held against. gcc and g++ must be there; without clang, or the cross compiler with
 * its emulator, their part is left out and says why. On a continuous-integration machine (CI is set) that fails.
 */
import { spawnSync } from 'node:child_process';

/** What is missing and how to get it; null where all is there. */
export type Missing = string | null;

function whyMissing(programs: readonly string[], packages: string): Missing {
  const missing = programs.filter((program) => spawnSync(program, ['--version']).status !== 0);
  return missing.length === 0 ? null : `no ${missing.join(', ')} here (Debian and Ubuntu: apt-get install ${packages})`;
}

export const CLANG = whyMissing(['clang', 'clang++'], 'clang');
export const PYTHON = whyMissing(['python3'], 'python3');
export const POWERPC_COMPILER = 'powerpc-linux-gnu-gcc';
export const POWERPC_EMULATOR = 'qemu-ppc';
/** 32 bits, the most significant byte first. */
export const POWERPC = whyMissing(
  [POWERPC_COMPILER, POWERPC_EMULATOR],
  'gcc-powerpc-linux-gnu libc6-dev-powerpc-cross qemu-user',
);

/** Leaves the rest of a test out where a program is missing; throws where that must not happen. */
export function leaveOutIf(missing: Missing, skip: (note: string) => void): void {
  if (missing === null) return;
  if (process.env['CI']) throw new Error(missing);
  skip(missing);
}
