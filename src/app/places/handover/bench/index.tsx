/** Bench: which frames does the part need? Wiring first, then trials that judge themselves from their recordings. */
import './bench.css';
import '../sending/sending.css';
import { useMemo, type ReactNode } from 'react';
import { plural } from '../../../../kit/sheet-figures.ts';
import { describeProblem } from '../../../../kit/outcome.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import { useKeys, type KeyGroup } from '../../../shell/keys.ts';
import { say } from '../../../shell/notices.ts';
import { useDossier } from '../../../stores/dossier.ts';
import type { OutputDefinition, OutputProps } from '../output.ts';
import { PartSenders } from '../PartSenders.tsx';
import { choosing } from '../sending/choosing.ts';
import { goToPhrase, saveConfirmed } from '../sending/confirm-store.ts';
import { Folded } from '../sending/Folded.tsx';
import { Frames } from '../sending/Frames.tsx';
import { sendingStem } from '../sending/saving.ts';
import { SpanPart } from '../sending/SpanPart.tsx';
import { Checklist } from './Checklist.tsx';
import { History } from './History.tsx';
import { idleReleases, isTaken, keepBench, releasedNow, takeIntoMap, withoutReleases } from './kept.ts';
import { Known } from './Known.tsx';
import { NextTrial } from './NextTrial.tsx';
import { useBenchView } from './store.ts';
import { goToWiring } from './wiring-focus.ts';
import { useBench, type BenchNow } from './use-bench.ts';

const press = (selector: string): void => document.querySelector<HTMLElement>(selector)?.click();

function Shown({ map }: OutputProps): ReactNode {
  const { rest, now } = useBench(map);
  const record = now?.record ?? null;
  const keys = useMemo<KeyGroup>(
    () => ({
      title: 'Bench',
      bindings: [
        { key: 'w', says: 'the next thing to measure', run: goToWiring },
        { key: 'p', says: 'go to the phrase', run: goToPhrase },
        { key: 't', says: 'the recording of the trial', run: () => press('.bench-pick') },
        { key: 'x', says: 'stop reading it', run: () => useBenchView.getState().reading?.stop() },
        {
          key: 'e',
          says: 'take what is known into the map, or out of it',
          run: () => record && record.trials.length > 0 && takeIntoMap(record, !isTaken(record)),
        },
      ],
    }),
    [record],
  );
  useKeys(keys);
  return (
    <>
      <h2 className="figure">Bench</h2>
      <p className="dim small">
        Which frames does the part need? First the wiring, for most parts that stay silent lack a wire. Then trials:
        each sends one set of frames after a full sleep, and its recording judges itself.
      </p>
      {now && (
        <>
          <Checklist record={now.record} />
          <Sendable now={now} rest={rest} />
          <NextTrial now={now} />
          <History now={now} />
          <Known now={now} />
        </>
      )}
    </>
  );
}

/** What trials may send: the part said, a span at rest, frames released. Folded once trials run. */
function Sendable({ now, rest }: { now: BenchNow; rest: ReturnType<typeof useBench>['rest'] }): ReactNode {
  const { map, record } = now;
  const chosen = useMemo(() => choosing(map, [...record.released, ...idleReleases(record)], 'live'), [map, record]);
  const notes = useMemo(() => heldNotes(now), [now]);
  const hasBegun = record.trials.length > 0;
  const release = (name: string): void => {
    const made = releasedNow(record, now, name);
    if (made.ok) keepBench(`release ${name} for trials`, made.value);
    else say(made.problems.map(describeProblem).join(' '));
  };
  const drop = (called: string, isGone: (name: string) => boolean): void =>
    keepBench(`take back the release of ${called}`, withoutReleases(record, isGone));
  return (
    <Folded
      className="bench-section"
      startsOpen={record.candidates.length === 0}
      summary={
        <h3>
          What trials may send <small>{plural(record.candidates.length, 'frame')}</small>
        </h3>
      }
    >
      <PartSenders map={map} />
      <SpanPart rest={rest} />
      {rest.map && (
        <section className="sending-section">
          <h3>Frames</h3>
          <Frames
            map={map}
            choosing={chosen}
            notes={notes}
            release={release}
            takeBack={
              hasBegun ? null : (frame) => drop(frame.name, (name) => name === frame.name || name === frameKey(frame))
            }
            drop={(released) => drop(released, (name) => name === released)}
          />
        </section>
      )}
    </Folded>
  );
}

/** Why a frame that was released is no candidate, by its key. */
function heldNotes({ map, record: { heldBack, candidates } }: BenchNow): ReadonlyMap<string, string> {
  const isCandidate = new Set(candidates.map(({ key }) => key));
  const pairs = map.frames.flatMap((frame) => {
    const key = frameKey(frame);
    const why = heldBack.find(({ name }) => name === frame.name || name.endsWith(`(${key})`))?.why;
    return why && !isCandidate.has(key) ? [[key, why] as const] : [];
  });
  return new Map(pairs);
}

function useLine(): string {
  const bench = useDossier(({ dossier }) => dossier.bench);
  if (!bench || bench.checklist.length === 0) return 'wiring, then trials';
  const trials = bench.trials.length;
  return trials === 0 ? 'wiring begun, no trial yet' : plural(trials, 'trial');
}

export const output: OutputDefinition = {
  name: 'bench',
  title: 'Bench',
  saves: 'trial',
  files: /(?!)/,
  sends: true,
  useLine,
  Shown,
  writes: (map) => `${sendingStem(map)}.trial-N.zip`,
  save: saveConfirmed,
};
