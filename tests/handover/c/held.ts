/** Holds generated C against the TypeScript codec: compiled strictly by every compiler, run under address and undefined-behaviour checks. */
import { expect } from 'vitest';
import { whyNotSet } from '../../../src/handover/encode-choice.ts';
import { generateC, type CCode, type COptions } from '../../../src/handover/c/source.ts';
import type { Random } from '../../../src/kit/random.ts';
import type { DecodedFrame } from '../../../src/map/decode.ts';
import { compileEncoder, type GivenValue } from '../../../src/map/encode.ts';
import { physicalLimits } from '../../../src/map/limits.ts';
import { bigOf, compileReader, formatPayload, parsePayload } from '../../../src/map/raw-values.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../../src/map/schema.ts';
import { driverSource, membersOf, record } from '../../support/c-driver.ts';
import { hasCompiler, STRICT, workplace, type Workplace } from '../../support/compile-c.ts';
import { randomPayload } from '../../support/random-frames.ts';

const compilers = hasCompiler('clang') ? ['gcc', 'clang'] : ['gcc'];
const CHECKS = ['-fsanitize=address,undefined', '-fno-sanitize-recover=all', '-g'];

function placed(code: Pick<CCode, 'header' | 'source'>, main: string): Workplace {
  const place = workplace();
  place.write('signal_map.h', code.header);
  place.write('signal_map.c', code.source);
  place.write('main.c', main);
  return place;
}

function linked(place: Workplace): Workplace {
  place.compile('gcc', ['-std=c99', ...CHECKS, 'signal_map.c', 'main.c', '-o', 'main']);
  return place;
}

/** The program of the code and `main`, under the checks; nothing else is compiled. */
export const checked = (code: Pick<CCode, 'header' | 'source'>, main: string): Workplace => linked(placed(code, main));

/** Compiles the code strictly as C99 and C++17 with every compiler; the program is made of it and `main`. */
export function compiled(code: Pick<CCode, 'header' | 'source'>, main: string): Workplace {
  const place = placed(code, main);
  for (const compiler of compilers) {
    const plus = compiler === 'gcc' ? 'g++' : 'clang++';
    place.compile(compiler, ['-std=c99', ...STRICT, '-O1', '-c', 'signal_map.c', '-o', `${compiler}.o`]);
    if (hasCompiler(plus))
      place.compile(plus, ['-x', 'c++', '-std=c++17', ...STRICT, '-c', 'signal_map.c', '-o', 'plus.o']);
  }
  return linked(place);
}

/** Runs a body of statements after the header and given functions; `printf` and `memcpy` are there. @returns what it prints. */
export function printed(code: Pick<CCode, 'header' | 'source'>, body: string, functions = ''): string {
  const includes = '#include "signal_map.h"\n#include <inttypes.h>\n#include <stdio.h>\n#include <string.h>\n';
  const place = placed(code, `${includes}${functions}\nint main(void) { ${body}\nreturn 0; }\n`);
  try {
    place.compile('gcc', ['-std=c99', ...STRICT, '-c', 'signal_map.c', '-o', 'strict.o']);
    return linked(place).run('main', new Uint8Array()).trim();
  } finally {
    place.remove();
  }
}

/** Half of the signals may go where their bits reach, the others only to a part of it. */
export function withRanges(frame: MapFrame, random: Random): MapFrame {
  const signals = frame.signals.map((signal) => {
    const limits = physicalLimits(signal);
    if (!limits) return signal;
    if (random.next() < 0.6) return { ...signal, observed: { ...limits } };
    const [a, b] = [random.between(limits.min / 2, limits.max / 2), random.between(limits.min / 2, limits.max / 2)];
    return { ...signal, observed: { min: Math.min(a, b), max: Math.max(a, b) } };
  });
  return {
    ...frame,
    signals,
    rest: { payload: formatPayload(randomPayload(random, frame.length)), capture: 'c1', fromS: 0, toS: 1 },
  };
}

const hexOf = (bytes: Uint8Array): string =>
  [...bytes].map((b) => b.toString(16).toUpperCase().padStart(2, '0')).join('');

function expectedText(signal: MapSignal, raw: number | string): string {
  const hex = BigInt(raw)
    .toString(16)
    .toUpperCase()
    .padStart(lengthOf(signal) / 4, '0');
  return signal.order === 'little' ? (hex.match(/../g) ?? []).reverse().join('') : hex;
}

const lengthOf = (field: { length: number; continues?: readonly { length: number }[] | undefined }): number =>
  field.length + (field.continues ?? []).reduce((sum, piece) => sum + piece.length, 0);

/** What the member should hold, from the physical value that the TypeScript codec gives. */
function holdsValue(shown: string, type: string, perUnit: number | null, signal: MapSignal, want: Decoded): boolean {
  if (signal.coding === 'text') return shown === expectedText(signal, want.raw);
  if (type === 'double') return Object.is(Number(shown.replace('inf', 'Infinity')), want.physical);
  if (type.startsWith('uint')) return BigInt(shown) === bigOf(want.raw);
  if (perUnit === null) return Number(shown) === want.coded;
  const counts = want.physical * perUnit;
  // A table in whole numbers is rounded to a count; else the count is exact and only the doubles are not.
  return Math.abs(Number(shown) - counts) <= (signal.table ? 0.5 : 0) + 1e-9 * Math.max(1, Math.abs(counts));
}

type Decoded = ReturnType<ReturnType<typeof compileEncoder>['compiled']['decode']>['signals'][number];

/** Counts that make one unit, as the header says them. */
function perUnitOf(header: string, stem: string, member: string): number | null {
  const found = new RegExp(`#define ${stem}_${member}_PER_UNIT (?:INT64_C\\()?(\\d+)`, 'i').exec(header);
  return found ? Number(found[1]) : null;
}

/** Neither whole numbers nor a value with an offset carry the sign of a zero: the payload underneath keeps its own. */
function givenOf(signal: MapSignal, want: Decoded, type: string, rest: Uint8Array): GivenValue {
  const carriesSign = type === 'double' && signal.offset === 0 && signal.table === null;
  if (carriesSign || signal.coding !== 'sign-magnitude' || want.coded !== 0) return want.physical;
  const below = bigOf(compileReader(signal)(rest, 0));
  return { raw: below === 1n << BigInt(lengthOf(signal) - 1) ? below : 0 };
}

/** The payload underneath is of another page, and the one asked for is not set in full. */
function isOtherPage(
  frame: MapFrame,
  { selectors, signals }: DecodedFrame,
  given: Readonly<Record<string, GivenValue>>,
  atRest: DecodedFrame['selectors'],
): boolean {
  if (Object.entries(selectors).every(([name, value]) => atRest[name] === value)) return false;
  const here = frame.signals.filter(({ name, when }) => when && signals.some((signal) => signal.name === name));
  return here.length === 0 || here.some(({ name }) => !(name in given));
}

/** Holds one printed line against the TypeScript codec. */
function compare(line: string, frame: MapFrame, payload: Uint8Array, code: CCode, stem: string): void {
  const encoder = compileEncoder(frame);
  const decoded = encoder.compiled.decode(payload);
  if (decoded.checksums.some(({ holds }) => holds !== true)) {
    expect(line).toBe('3 kept');
    return;
  }
  const members = membersOf(code.header, stem);
  const [left = '', right = ''] = line.split(' | ');
  const [status, ...values] = left.split(' ');
  expect(status).toBe('0');
  const byName = new Map(decoded.signals.map((signal) => [signal.name, signal]));
  const given: Record<string, GivenValue> = {};
  const rest = parsePayload(frame.rest?.payload ?? '') ?? new Uint8Array();
  frame.signals.forEach((signal, i) => {
    const { type = '', member = '' } = members[i] ?? {};
    const [valid, shown = ''] = (values[i] ?? '').split(':');
    const want = byName.get(signal.name);
    const label = `${frame.name}.${signal.name} ${member} ${JSON.stringify(signal)} ${shown} ${want?.physical}`;
    expect(valid, label).toBe(!want ? '0' : want.invalid === null ? '1' : '2');
    if (!want || want.invalid !== null) return;
    expect(holdsValue(shown, type, perUnitOf(code.header, stem, member), signal, want), label).toBe(true);
    if (whyNotSet(frame, signal, new Set()) === null) given[signal.name] = givenOf(signal, want, type, rest);
  });
  if (right === '-') return;
  const [encoded, bytes] = right.split(' ');
  const { selectors, counters } = decoded;
  if (isOtherPage(frame, decoded, given, encoder.compiled.decode(rest).selectors)) {
    expect(encoded, `${frame.name} ${formatPayload(payload)} ${line}`).toBe('9');
    return;
  }
  const outcome = encoder.encode(given, { ranges: 'observed', selectors, counters });
  expect(encoded === '0' ? 'written' : 'refused', `${frame.name} ${formatPayload(payload)} ${line}`).toBe(
    outcome.ok ? 'written' : 'refused',
  );
  if (outcome.ok) expect(bytes, frame.name).toBe(hexOf(outcome.value));
}

/** Random payloads; most of them with the checksums that they ought to have. */
function payloadFor(frame: MapFrame, random: Random): Uint8Array {
  const payload = randomPayload(random, frame.length);
  if (random.next() < 0.85) compileEncoder(frame).writeChecksums(payload, 0, payload.length);
  return payload;
}

export interface Held {
  readonly written: number;
  readonly refused: number;
  /** Payloads that were not taken, the struct left as it was. */
  readonly kept: number;
}

/** Compiles the map's code and holds `each` random payloads of every frame against the codec. */
export function holdAgainst(map: SignalMap, random: Random, each: number, options: Partial<COptions> = {}): Held {
  const code = generateC(map, { cautions: [], ...options });
  const place = compiled(code, driverSource(code));
  const plan = map.frames.flatMap((frame, index) =>
    Array.from({ length: each }, () => ({ frame, index, payload: payloadFor(frame, random) })),
  );
  const records = plan.flatMap(({ index, payload }) => record(index, payload));
  const lines = place.run('main', Uint8Array.from(records)).trimEnd().split('\n');
  place.remove();
  expect(lines).toHaveLength(plan.length);
  lines.forEach((line, i) => {
    const { frame, payload, index } = plan[i] as (typeof plan)[number];
    compare(line, frame, payload, code, code.frames[index]?.stem ?? '');
  });
  const written = lines.filter((line) => line.includes(' | 0 ')).length;
  const kept = lines.filter((line) => line === '3 kept').length;
  return { written, kept, refused: lines.length - written - kept };
}
