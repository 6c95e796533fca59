/** Compiles generated C with the compilers of the machine and runs it. A missing gcc is a failure that says what to install. */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export const STRICT = ['-Wall', '-Wextra', '-Wconversion', '-Wpedantic', '-Werror'];

export function hasCompiler(name: string): boolean {
  return spawnSync(name, ['--version']).status === 0;
}

export function requireGcc(): void {
  if (!hasCompiler('gcc') || !hasCompiler('g++')) {
    throw new Error(
      'These tests compile the generated code: install gcc and g++ (Debian and Ubuntu: apt-get install gcc g++).',
    );
  }
}

export interface Workplace {
  readonly folder: string;
  write(name: string, content: string | Uint8Array): void;
  /** Compiles; throws with the compiler's own words. */
  compile(compiler: string, args: readonly string[]): void;
  run(program: string, input: Uint8Array): string;
  remove(): void;
}

export function workplace(): Workplace {
  const folder = mkdtempSync(join(tmpdir(), 'loomscribe-c-'));
  return {
    folder,
    write: (name, content) => writeFileSync(join(folder, name), content),
    compile(compiler, args) {
      const result = spawnSync(compiler, args, { cwd: folder, encoding: 'utf8' });
      if (result.status !== 0) throw new Error(`${compiler} ${args.join(' ')}\n${result.stderr.slice(0, 4000)}`);
    },
    run: (program, input) =>
      execFileSync(join(folder, program), { input, encoding: 'utf8', maxBuffer: 1 << 28, cwd: folder }),
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}
