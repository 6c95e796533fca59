/** The map as it reads: frame by frame, each signal with its standing, place, scale and what was observed. */
import { useMemo, useState, type ReactNode } from 'react';
import type { MapFrame, MapSignal, SignalMap } from '../../../../map/schema.ts';
import { displayId } from '../../../../kit/units.ts';
import { placeWords } from '../../../../fields/place-words.ts';
import { checksumWords, counterWords, kindWords, whenWords } from '../../../pictures/bands-words.ts';
import { period, plural, value as figure } from '../../../../kit/sheet-figures.ts';
import { StandingGlyph } from '../../signals/Standing.tsx';

export function MapDrawn({ map, named }: { map: SignalMap; named: ReadonlySet<string> }): ReactNode {
  const [onlyNamed, setOnlyNamed] = useState(named.size > 0);
  const frames = useMemo(
    () =>
      onlyNamed
        ? map.frames.filter((frame) => frame.signals.some((signal) => named.has(nameKey(frame, signal))))
        : map.frames,
    [map, onlyNamed, named],
  );
  return (
    <div className="handover-drawn">
      {named.size > 0 && (
        <p className="line-of">
          <span className="switch" role="group" aria-label="Signals shown">
            <button type="button" aria-pressed={onlyNamed} onClick={() => setOnlyNamed(true)}>
              with names given here
            </button>
            <button type="button" aria-pressed={!onlyNamed} onClick={() => setOnlyNamed(false)}>
              all {map.frames.length} frames
            </button>
          </span>
          <span className="dim small">Both are saved: fields without a meaning keep a name made from their place.</span>
        </p>
      )}
      {frames.map((frame) => (
        <FrameTable key={`${frame.bus} ${frame.id} ${frame.extended}`} frame={frame} named={named} />
      ))}
    </div>
  );
}

export const nameKey = (frame: { bus: string; id: string; extended: boolean }, signal: { name: string }): string =>
  `${frame.bus} ${frame.id} ${frame.extended} ${signal.name}`;

function FrameTable({ frame, named }: { frame: MapFrame; named: ReadonlySet<string> }): ReactNode {
  return (
    <section className="handover-frame">
      <h3>
        <span className="mono">{displayId(Number(frame.id), frame.extended)}</span>{' '}
        <span className="dim">{frame.name}</span>
        <small>
          {frame.bus}, {plural(frame.length, 'byte')}, {timingWords(frame)}
          {frame.rest ? ', rest payload known' : ''}
        </small>
      </h3>
      <table className="list">
        <colgroup>
          <col style={{ width: 24 }} />
          <col style={{ width: '27%' }} />
          <col />
          <col style={{ width: '22%' }} />
          <col className="handover-observed" style={{ width: '17%' }} />
        </colgroup>
        <thead className="unseen">
          <tr>
            <th>standing</th>
            <th>signal</th>
            <th>place</th>
            <th>physical</th>
            <th>observed</th>
          </tr>
        </thead>
        <tbody>
          {frame.signals.map((signal) => (
            <tr key={`${signal.name} ${placeWords(signal)}`}>
              <td className="handover-standing">
                <StandingGlyph standing={signal.standing} />
                <span className="unseen">{signal.standing}</span>
              </td>
              <td className={named.has(nameKey(frame, signal)) && signal.standing !== 'guess' ? 'strong' : 'inferred'}>
                {signal.name}
              </td>
              <td className="dim">
                {placeWords(signal)} {kindWords(signal)}
                {signal.when ? `; when ${whenWords(signal.when)}` : ''}
              </td>
              <td>{scaleWords(signal)}</td>
              <td className="right dim">{observedWords(signal)}</td>
            </tr>
          ))}
          {frame.counters.map((counter) => (
            <GuardRow
              key={counter.name}
              name={counter.name}
              words={`${placeWords(counter)} ${counterWords(counter)}`}
            />
          ))}
          {frame.checksums.map((checksum) => (
            <GuardRow
              key={placeWords(checksum)}
              name="check"
              words={`${placeWords(checksum)} ${checksumWords(checksum)}`}
            />
          ))}
          {frame.signals.length + frame.counters.length + frame.checksums.length === 0 && (
            <tr>
              <td />
              <td className="dim" colSpan={4}>
                no value found: nothing in it moves
              </td>
            </tr>
          )}
        </tbody>
      </table>
    </section>
  );
}

function GuardRow({ name, words }: { name: string; words: string }): ReactNode {
  return (
    <tr>
      <td />
      <td>{name}</td>
      <td className="dim" colSpan={3}>
        {words}
      </td>
    </tr>
  );
}

const timingWords = ({ timing }: MapFrame): string =>
  timing.kind === 'periodic' || timing.kind === 'mixed'
    ? `every ${period(timing.periodMs)}`
    : timing.kind.replace('-', ' ');

function scaleWords(signal: MapSignal): string {
  if (signal.kind === 'states' || signal.kind === 'flag')
    return Object.entries(signal.states)
      .map(([raw, name]) => `${raw} ${name}`)
      .join(', ');
  if (signal.scale === 1 && signal.offset === 0) return signal.unit || 'raw';
  const offset = signal.offset ? ` ${signal.offset < 0 ? '−' : '+'} ${figure(Math.abs(signal.offset))}` : '';
  return `raw × ${Number(signal.scale.toPrecision(6))}${offset} ${signal.unit}`;
}

const observedWords = ({ observed, unit }: MapSignal): string =>
  observed ? `${figure(observed.min)} to ${figure(observed.max)} ${unit.replaceAll(' ', '\u00A0')}` : '';
