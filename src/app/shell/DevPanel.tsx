/** The developer's panel ("?dev"): jobs with times and bytes, questions to the engine, captures, storage. */
import { useEffect, useState, type ReactNode } from 'react';
import { useCaptures } from '../stores/captures.ts';
import { useFindings } from '../stores/findings.ts';
import { useMeasures, type Measure } from '../stores/measures.ts';
import { bytes, count } from '../../kit/sheet-figures.ts';

export function DevPanel(): ReactNode {
  return (
    <details className="dev-panel">
      <summary>developer</summary>
      <Captures />
      <Jobs />
      <Questions />
      <Storage />
    </details>
  );
}

function Captures(): ReactNode {
  const open = useCaptures((state) => state.open);
  return (
    <table className="list">
      <caption>Captures</caption>
      <tbody>
        {open.map(({ id, phase, revision, summary, lastsMs, files }) => {
          const size = files.reduce((sum, { blob }) => sum + blob.size, 0);
          return (
            <tr key={id}>
              <td>
                {id}@{revision}
              </td>
              <td>{phase}</td>
              <td className="right">{summary ? count(summary.frames) : ''}</td>
              <td className="right">{bytes(size)}</td>
              <td className="right">{lastsMs ? `${bytes((size / lastsMs) * 1000)}/s` : ''}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

function Jobs(): ReactNode {
  const slots = useFindings((state) => state.slots);
  return (
    <table className="list">
      <caption>Jobs</caption>
      <tbody>
        {Object.values(slots).map(({ key, state, tookMs, bytes: size }) => (
          <tr key={key}>
            <td className="mono">{key.split('/').slice(1).join('/')}</td>
            <td>{state}</td>
            <td className="right">{tookMs.toFixed(0)} ms</td>
            <td className="right">{bytes(size)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function summarise(measures: readonly Measure[]): { name: string; n: number; median: number; bytes: number }[] {
  const names = [...new Set(measures.map(({ name }) => name))];
  return names.map((name) => {
    const own = measures.filter((measure) => measure.name === name);
    const times = own.map(({ tookMs }) => tookMs).sort((a, b) => a - b);
    return {
      name,
      n: own.length,
      median: times[times.length >> 1] ?? 0,
      bytes: own.reduce((sum, { bytes: size }) => sum + size, 0),
    };
  });
}

function Questions(): ReactNode {
  const measures = useMeasures((state) => state.measures);
  return (
    <table className="list">
      <caption>Questions, the last {measures.length}</caption>
      <tbody>
        {summarise(measures).map(({ name, n, median, bytes: size }) => (
          <tr key={name}>
            <td>{name}</td>
            <td className="right">{n} ×</td>
            <td className="right">{median.toFixed(1)} ms</td>
            <td className="right">{bytes(size)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Storage(): ReactNode {
  const [used, setUsed] = useState<StorageEstimate | null>(null);
  useEffect(() => {
    const look = (): void => void navigator.storage?.estimate().then(setUsed);
    look();
    const timer = setInterval(look, 3000);
    return () => clearInterval(timer);
  }, []);
  if (!used) return null;
  return (
    <p className="small">
      Stored here: {bytes(used.usage ?? 0)} of {bytes(used.quota ?? 0)}
    </p>
  );
}
