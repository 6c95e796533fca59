/** Builds the C of one map with every compiler and holds what it prints against the program's own codec. */
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import type { COptions } from '../../../src/handover/c/context.ts';
import { generateC, type CCode } from '../../../src/handover/c/source.ts';
import { formatPayload } from '../../../src/map/raw-values.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { membersOf } from '../../support/c-driver.ts';
import { STRICT, workplace, type Workplace } from '../../support/compile-c.ts';
import { driverOf, linesOf, recordsOf, type DriverLine } from './driver.ts';
import { FrameExpectation, hexOf, type Expected } from './expected.ts';
import { releasedIn, type CapturedFrame, type MapCase } from './map-case.ts';
import { POWERPC_COMPILER, POWERPC_EMULATOR } from './toolchains.ts';

/** clang's library for addresses is a package of its own; its traps need none. */
const SANITISERS = {
  gcc: ['-fsanitize=address,undefined', '-fno-sanitize-recover=all'],
  clang: ['-fsanitize=undefined', '-fsanitize-trap=undefined'],
} as const;
const SOURCES = ['signal_map.c', 'driver.c'];

export interface Built {
  readonly place: Workplace;
  readonly code: CCode;
}

/** Whole numbers and tables are the other choices that a person has. */
export const IN_WHOLE_NUMBERS = { scaling: 'integer', crc: 'table' } as const satisfies Partial<COptions>;

export function build({ map }: MapCase, choices: Partial<COptions> = {}): Built {
  const code = generateC(map, { cautions: [], release: releasedIn(map), ...choices });
  const place = workplace();
  place.write('signal_map.h', code.header);
  place.write('signal_map.c', code.source);
  place.write('driver.c', driverOf(code));
  return { place, code };
}

/** As strict C99 and as C++17. */
export function compileStrictly({ place }: Built, c: string, cpp: string): void {
  place.compile(c, ['-std=c99', ...STRICT, '-fsyntax-only', 'signal_map.c']);
  place.compile(cpp, ['-x', 'c++', '-std=c++17', ...STRICT, '-fsyntax-only', 'signal_map.c']);
}

/** Under checks that end the program at the first trouble: gcc's of addresses and undefined behaviour, clang's of the latter. */
export function runChecked({ place }: Built, compiler: 'gcc' | 'clang', records: Uint8Array): string {
  place.compile(compiler, ['-std=c99', ...STRICT, ...SANITISERS[compiler], ...SOURCES, '-o', compiler]);
  return place.run(compiler, records);
}

/** As a controller's own build would be: optimised, and as strict. */
export function runOptimised({ place }: Built, records: Uint8Array): string {
  place.compile('gcc', ['-std=c99', ...STRICT, '-O2', ...SOURCES, '-o', 'optimised']);
  return place.run('optimised', records);
}

export function runOnPowerPc({ place }: Built, records: Uint8Array): string {
  place.compile(POWERPC_COMPILER, ['-std=c99', ...STRICT, '-O1', '-static', ...SOURCES, '-o', 'powerpc']);
  const program = join(place.folder, 'powerpc');
  return execFileSync(POWERPC_EMULATOR, [program], { input: records, encoding: 'utf8', maxBuffer: 1 << 28 });
}

const validOf = (member: string): string => member.replace(/:.*/, ':');
/** Where there is no value the struct's says nothing. */
const heldOf = (member: string): string => (member.startsWith('1:') ? member : validOf(member));

/** of: what of a member is held against the codec. */
function troubleOf(line: DriverLine, wanted: Expected, of: (member: string) => string): string | null {
  const wrong = line.members.findIndex((member, i) => of(member) !== of(wanted.members[i] ?? ''));
  if (wrong >= 0 || line.members.length !== wanted.members.length)
    return `member ${wrong}: ${line.members[wrong]} not ${wanted.members[wrong]}`;
  if ((line.status === '3') === wanted.checksumsHold) return `decode said ${line.status}`;
  if (line.encoded === null) return null;
  const { status, bytes } = line.encoded;
  const done = status === '0' || status === '1';
  if (done !== wanted.encodes) return `encode said ${status}`;
  return !done || bytes === wanted.payload ? null : `encoded to ${bytes}`;
}

export interface Tally {
  readonly frames: number;
  /** Encoded from the values decoded, to the same bytes. */
  readonly same: number;
  /** Frames without an encoder: keyed or unknown guards. */
  readonly decodeOnly: number;
  /** At most ten. */
  readonly troubles: readonly string[];
}

/** Values are held as doubles; of whole numbers only whether there is one, and the bytes that they are encoded to. */
export function holdOutput({ map, capture }: MapCase, code: CCode, output: string): Tally {
  const of = code.header.includes('no floating point') ? validOf : heldOf;
  const released = new Set(releasedIn(map));
  const expectations = map.frames.map(
    (frame, i) => new FrameExpectation(frame, membersOf(code.header, code.frames[i]?.stem ?? ''), released),
  );
  const lines = linesOf(output);
  const troubles: string[] = lines.length === capture.length ? [] : [`${lines.length} lines of ${capture.length}`];
  let [same, decodeOnly] = [0, 0];
  lines.forEach((line, i) => {
    const { index, payload } = capture[i] as CapturedFrame;
    const { name } = map.frames[index] as MapFrame;
    const trouble = troubleOf(line, (expectations[index] as FrameExpectation).of(payload), of);
    if (trouble && troubles.length < 10) troubles.push(`${name} ${formatPayload(payload)}: ${trouble}`);
    if (line.encoded === null) decodeOnly++;
    else if (line.encoded.bytes === hexOf(payload)) same++;
  });
  return { frames: lines.length, same, decodeOnly, troubles };
}

export const recordsFor = (each: MapCase): Uint8Array => recordsOf(each.capture);
