/**
 * What a map must satisfy beyond its schema. Errors would make a value wrong or a frame impossible to build;
 * warnings are doubtful but harmless. Each with its JSON path and what to do.
 */
import { bitPositions, fitsIn, placementLength, type Placement } from '../frames/bits.ts';
import type { Problem } from '../kit/outcome.ts';
import { checkChecksums, checkCounters } from './check-guards.ts';
import { featuresOfFrame, isKnownFeature, requiredFeatures } from './features.ts';
import { frameKey } from './identifiers.ts';
import { canCoincide, selectorNamed } from './pages.ts';
import { parsePayload } from './raw-values.ts';
import { refusedFrames } from './refused.ts';
import type { MapFrame, MapSignal, SignalMap, When } from './schema.ts';

export interface MapCheck {
  readonly errors: readonly Problem[];
  readonly warnings: readonly Problem[];
}

/** Collects findings under a path. */
export interface Collector {
  error(path: string, code: string, message: string, advice: string): void;
  warn(path: string, code: string, message: string, advice: string): void;
}

function collect(file: string | undefined): Collector & MapCheck {
  const errors: Problem[] = [];
  const warnings: Problem[] = [];
  const into =
    (list: Problem[]) =>
    (path: string, code: string, message: string, advice: string): void => {
      list.push({ code, message, advice, place: { ...(file === undefined ? {} : { file }), path } });
    };
  return { errors, warnings, error: into(errors), warn: into(warnings) };
}

type Section = 'signals' | 'counters' | 'checksums' | 'selectors' | 'unclaimed';
const SECTIONS: readonly Section[] = ['signals', 'counters', 'checksums', 'selectors', 'unclaimed'];

function checkPlacement(found: Collector, path: string, placement: Placement, length: number): void {
  if (!fitsIn(placement, length)) {
    const advice = 'Correct lsb, length or order: see "Bit addresses" in docs/signal-map.md.';
    found.error(path, 'field-outside-frame', `the field runs outside the frame's ${length} bytes.`, advice);
  }
  for (const piece of [placement, ...(placement.continues ?? [])]) {
    const oneByte = piece.lsb.bit + piece.length <= 8;
    if (oneByte && piece.order === 'big') {
      found.warn(path, 'one-byte-big', 'a field within one byte is written "little".', 'Write order "little".');
    }
  }
  const positions = bitPositions(placement);
  if (new Set(positions).size < positions.length) {
    found.error(path, 'bits-used-twice', 'the pieces of the field share bits.', 'Correct `continues`.');
  }
}

function checkWhen(found: Collector, path: string, when: When | undefined, frame: MapFrame): void {
  for (const [name, values] of Object.entries(when ?? {})) {
    const selector = selectorNamed(frame, name);
    if (!selector) {
      const advice = `Name one of the frame's selectors: ${frame.selectors.map((s) => s.name).join(', ') || 'it has none'}.`;
      found.error(`${path}.when`, 'unknown-selector', `there is no selector "${name}".`, advice);
    } else if (values.some((value) => value < 0 || value >= 2 ** placementLength(selector))) {
      const advice = `Values of ${name} are 0 to ${2 ** placementLength(selector) - 1}.`;
      found.error(`${path}.when`, 'page-never-on', `"${name}" cannot have every value asked for.`, advice);
    }
  }
}

function checkNames(found: Collector, path: string, items: readonly { readonly name: string }[], what: string): void {
  const seen = new Set<string>();
  items.forEach(({ name }, index) => {
    if (seen.has(name)) {
      found.error(`${path}[${index}].name`, 'name-twice', `the frame has two ${what} named "${name}".`, 'Rename one.');
    }
    seen.add(name);
  });
}

function checkSignal(found: Collector, path: string, signal: MapSignal): void {
  const bits = placementLength(signal);
  if (signal.coding === 'float' && bits !== 32 && bits !== 64) {
    found.error(path, 'float-length', `a float has 32 or 64 bits, not ${bits}.`, 'Correct its length or coding.');
  }
  if (signal.coding === 'text' && bits % 8 !== 0) {
    found.error(path, 'text-length', `text has whole bytes, not ${bits} bits.`, 'Correct its length or coding.');
  }
  if (signal.scale === 0 && !signal.table && signal.coding !== 'text') {
    found.error(`${path}.scale`, 'scale-zero', 'a scale of 0 makes every value the same.', 'Write 1 if unknown.');
  }
  if (signal.table && signal.table.some((point, i, all) => i > 0 && point[0] <= (all[i - 1] as [number, number])[0])) {
    found.error(
      `${path}.table`,
      'table-order',
      'the raw values of a table must rise.',
      'Sort its points by raw value.',
    );
  }
  const limit = 1n << BigInt(bits);
  if (Object.keys(signal.states).some((key) => !/^[0-9]+$/.test(key) || BigInt(key) >= limit)) {
    const advice = `Write unsigned raw values in decimal, below 2^${bits}.`;
    found.error(`${path}.states`, 'state-key', 'a state is not a raw value of this signal.', advice);
  }
  for (const { from, to } of signal.invalid) {
    if (BigInt(from) > BigInt(to) || BigInt(to) >= limit) {
      const advice = `Write from <= to, below 2^${bits}.`;
      found.error(`${path}.invalid`, 'invalid-range', 'a range of invalid values is not within the signal.', advice);
    }
  }
  for (const key of ['observed', 'allowed'] as const) {
    const range = signal[key];
    if (range && range.min > range.max) {
      found.error(`${path}.${key}`, 'range-upside-down', 'min is above max.', 'Exchange them.');
    }
  }
}

interface Occupied {
  readonly path: string;
  readonly label: string;
  readonly positions: ReadonlySet<number>;
  readonly when: When | undefined;
}

function checkOverlaps(found: Collector, path: string, frame: MapFrame): void {
  const occupied: Occupied[] = (['signals', 'counters', 'checksums'] as const).flatMap((section) =>
    frame[section].map((item, index) => ({
      path: `${path}.${section}[${index}]`,
      label: 'name' in item ? `"${String(item.name)}"` : 'a checksum',
      positions: new Set(bitPositions(item)),
      when: item.when,
    })),
  );
  occupied.forEach((item, index) => {
    const other = occupied
      .slice(0, index)
      .find(({ positions, when }) => canCoincide(when, item.when) && [...item.positions].some((p) => positions.has(p)));
    if (!other) return;
    const advice = 'Correct one of them, or put them on different pages.';
    found.warn(item.path, 'overlap', `${item.label} shares bits with ${other.label} on the same page.`, advice);
  });
}

function checkFrame(found: Collector, path: string, frame: MapFrame): void {
  for (const section of SECTIONS) {
    frame[section].forEach((item, index) => {
      checkPlacement(found, `${path}.${section}[${index}]`, item, frame.length);
      if ('when' in item) checkWhen(found, `${path}.${section}[${index}]`, item.when as When | undefined, frame);
    });
  }
  checkNames(found, `${path}.signals`, frame.signals, 'signals');
  checkNames(found, `${path}.counters`, frame.counters, 'counters');
  checkNames(found, `${path}.selectors`, frame.selectors, 'selectors');
  frame.signals.forEach((signal, index) => checkSignal(found, `${path}.signals[${index}]`, signal));
  checkCounters(found, path, frame);
  checkChecksums(found, path, frame);
  checkOverlaps(found, path, frame);
  const rest = frame.rest ? parsePayload(frame.rest.payload) : null;
  if (rest && rest.length !== frame.length) {
    const message = `the rest payload has ${rest.length} bytes, the frame ${frame.length}.`;
    found.error(`${path}.rest.payload`, 'rest-length', message, 'Take a payload of the usual length.');
  }
  const most = frame.extended ? 0x1fffffff : 0x7ff;
  if (Number(frame.id) > most) {
    const advice = 'Identifiers above 0x7FF are extended; the greatest is 0x1FFFFFFF.';
    found.error(`${path}.id`, 'identifier-too-large', `${frame.id} does not fit its kind of identifier.`, advice);
  }
}

function checkRequires(found: Collector, map: SignalMap): void {
  const used = requiredFeatures(map);
  for (const feature of used.filter((name) => !map.requires.includes(name))) {
    const frame = map.frames.find((candidate) => featuresOfFrame(candidate).includes(feature));
    const message = `"${feature}" is used (${frame?.name}) and not listed: other readers would decode wrongly.`;
    found.error('requires', 'feature-not-listed', message, `Add "${feature}".`);
  }
  const unused = map.requires.filter((name) => isKnownFeature(name) && !used.includes(name));
  if (refusedFrames(map).length > 0) return;
  for (const feature of unused) {
    found.warn('requires', 'feature-not-used', `"${feature}" is listed and not used.`, `Remove "${feature}".`);
  }
}

/** Everything beyond the schema; `file` goes into the places of what is found. */
export function checkMap(map: SignalMap, file?: string): MapCheck {
  const found = collect(file);
  checkRequires(found, map);
  const seen = new Map<string, number>();
  map.frames.forEach((frame, index) => {
    const earlier = seen.get(frameKey(frame));
    if (earlier !== undefined) {
      const advice = 'Merge them into one entry.';
      found.error(`frames[${index}]`, 'frame-twice', `the same frame as frames[${earlier}].`, advice);
    }
    seen.set(frameKey(frame), index);
    checkFrame(found, `frames[${index}]`, frame);
  });
  return { errors: found.errors, warnings: found.warnings };
}
