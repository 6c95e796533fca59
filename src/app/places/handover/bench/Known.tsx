/** What the trials tell of each frame so far, and taking that into the map, where map, plan and report show it. */
import type { ReactNode } from 'react';
import { conclude, type FrameConclusion } from '../../../../handover/bench/conclusions.ts';
import { measuredTimeouts } from '../../../../handover/bench/timeouts.ts';
import { NeedGlyph } from '../plan/NeedGlyph.tsx';
import { isTaken, takeIntoMap } from './kept.ts';
import type { BenchNow } from './use-bench.ts';
import { NEED_WORDS } from './words.ts';

const tally = ({ n, works }: FrameConclusion['withIt']): string => (n === 0 ? 'not tried' : `${works} of ${n}`);

export function Known({ now: { record, state } }: { now: BenchNow }): ReactNode {
  if (record.trials.length === 0) return null;
  const conclusions = conclude(record, state);
  const names = new Map(record.candidates.map(({ key, name }) => [key, name]));
  const count = (verdict: FrameConclusion['verdict']): number =>
    conclusions.filter((each) => each.verdict === verdict).length;
  const timeouts = new Map(measuredTimeouts(state.judged).map((each) => [each.key, each]));
  return (
    <section className="bench-section" aria-label="What is known so far">
      <h3>
        Known so far{' '}
        <small>
          {count('required')} required, {count('not-required')} not, {count('untested')} untested
        </small>
      </h3>
      <table className="list bench-known">
        <thead>
          <tr>
            <th>frame</th>
            <th>need</th>
            <th>worked with it</th>
            <th>without it</th>
          </tr>
        </thead>
        <tbody>
          {conclusions.map((each) => (
            <tr key={each.key}>
              <td>
                {names.get(each.key)} <span className="mono dim">{each.key}</span>
              </td>
              <td>
                <NeedGlyph need={each.verdict} /> {NEED_WORDS[each.verdict]}
                {each.replaceable && ', or another in its place'}
                {timeoutWords(timeouts.get(each.key))}
              </td>
              <td>{tally(each.withIt)}</td>
              <td>{tally(each.withoutIt)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <Take record={record} />
    </section>
  );
}

function timeoutWords(timeout: ReturnType<typeof measuredTimeouts>[number] | undefined): string {
  if (!timeout) return '';
  return timeout.trials.length > 0
    ? `; silence noticed after ${timeout.lowMs} to ${timeout.highMs} ms`
    : `; silence borne for ${timeout.bornMs ?? 0} ms`;
}

function Take({ record }: { record: BenchNow['record'] }): ReactNode {
  const taken = isTaken(record);
  return (
    <p className="line-of bench-take">
      <button type="button" className="button" aria-pressed={taken} onClick={() => takeIntoMap(record, !taken)}>
        {taken ? 'Take it out of the map' : 'Take it into the map'} <kbd>E</kbd>
      </button>
      <span className="small dim">
        {taken
          ? 'Map, plan and report have what the bench showed; further trials follow.'
          : 'As evidence with these trials: map, plan and report then show it.'}
      </span>
    </p>
  );
}
