/** For sending: a part of the recording, or a schedule in C, from a span marked at rest; frames released one by one; the cautions read, the phrase typed. */
import './sending.css';
import { useMemo, type ReactNode } from 'react';
import type { SignalMap } from '../../../../map/schema.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { useKeys, type KeyGroup } from '../../../shell/keys.ts';
import type { OutputDefinition, OutputProps } from '../output.ts';
import { PartSenders } from '../PartSenders.tsx';
import { useMarkedRest, type MarkedRest } from './asking.ts';
import { goToPhrase, saveConfirmed } from './confirm-store.ts';
import { choosing, withoutRelease, type Choosing } from './choosing.ts';
import { notesOf, PartExport, ScheduleExport, useSchedule } from './Export.tsx';
import { Frames } from './Frames.tsx';
import { sendingStem } from './saving.ts';
import { SpanPart } from './SpanPart.tsx';
import { useSpans } from './span.ts';
import { useReleased, useSending, type SendingKind } from './store.ts';

const KINDS: readonly (readonly [SendingKind, string])[] = [
  ['schedule', 'schedule in C'],
  ['log', 'log lines'],
  ['pcapng', 'packets'],
];

function nextKind(): void {
  const { kind, set } = useSending.getState();
  const at = KINDS.findIndex(([name]) => name === kind);
  set({ kind: (KINDS[(at + 1) % KINDS.length] ?? KINDS[0])?.[0] ?? 'schedule' });
}

const KEYS: KeyGroup = {
  title: 'For sending',
  bindings: [
    { key: 'w', says: 'how it is written: the next form', run: nextKind },
    { key: 'p', says: 'go to the phrase', run: goToPhrase },
  ],
};

function Shown({ map }: OutputProps): ReactNode {
  useKeys(KEYS);
  const rest = useMarkedRest(map);
  return (
    <>
      <h2 className="figure">For sending</h2>
      <p className="dim small">
        What can be played to the part on a bench. Only from a span marked at rest, only frames that you release, and
        nothing is saved before its phrase is typed. The page itself sends nothing.
      </p>
      <PartSenders map={map} />
      <SpanPart rest={rest} />
      {rest.map && <OfSpan map={rest.map} rest={rest} />}
    </>
  );
}

const form = (kind: SendingKind, recount: boolean): 'live' | 'as-recorded' =>
  kind === 'schedule' || recount ? 'live' : 'as-recorded';

function OfSpan({ map, rest }: { map: SignalMap; rest: MarkedRest }): ReactNode {
  const { kind, recount } = useSending();
  const capture = rest.spans?.capture ?? '';
  const release = useReleased(capture);
  const chosen = useMemo(() => choosing(map, release, form(kind, recount)), [map, release, kind, recount]);
  const released = useMemo(() => release.filter((name) => !chosen.idle.includes(name)), [release, chosen]);
  const props = { map, rest, release: released };
  const goes = chosen.going.length > 0;
  const schedule = useSchedule(props, goes && kind === 'schedule');
  return (
    <>
      <Written />
      <FramesPart map={map} chosen={chosen} notes={notesOf(map, schedule)} capture={capture} />
      {goes && kind === 'schedule' && <ScheduleExport map={map} schedule={schedule} />}
      {goes && kind !== 'schedule' && <PartExport kind={kind} {...props} />}
    </>
  );
}

interface FramesPartProps {
  readonly map: SignalMap;
  readonly chosen: Choosing;
  readonly notes: ReadonlyMap<string, string>;
  readonly capture: string;
}

function FramesPart({ map, chosen, notes, capture }: FramesPartProps): ReactNode {
  const release = useReleased(capture);
  const setReleased = (next: readonly string[]): void =>
    useSending.getState().set({ release: next, releasedFor: capture });
  return (
    <section className="sending-section">
      <h3>
        Frames <small>{plural(chosen.going.length, 'goes out', 'go out')}</small>
      </h3>
      <Frames
        map={map}
        choosing={chosen}
        notes={notes}
        release={(name) => setReleased([...release, name])}
        takeBack={(frame) => setReleased(withoutRelease(release, frame))}
        drop={(name) => setReleased(release.filter((other) => other !== name))}
      />
    </section>
  );
}

function Written(): ReactNode {
  const { kind, loops, recount, set } = useSending();
  return (
    <section className="sending-section">
      <h3>Written as</h3>
      <div className="line-of sending-written">
        <span className="switch" role="group" aria-label="Written as">
          {KINDS.map(([name, words]) => (
            <button key={name} type="button" aria-pressed={kind === name} onClick={() => set({ kind: name })}>
              {words}
            </button>
          ))}
          <span className="switch-key">
            <kbd>W</kbd>
          </span>
        </span>
        {kind === 'schedule' ? (
          <span className="small dim">Counters run and checksums are made anew: the better choice.</span>
        ) : (
          <>
            <label className="line-of">
              <input type="checkbox" checked={recount} onChange={(event) => set({ recount: event.target.checked })} />
              counters run on, checksums anew
            </label>
            <label className="line-of">
              times over
              <input
                className="field sending-loops"
                type="number"
                min={1}
                max={9999}
                value={loops}
                onChange={(event) =>
                  set({ loops: Math.min(9999, Math.max(1, Math.round(Number(event.target.value)) || 1)) })
                }
              />
            </label>
          </>
        )}
      </div>
    </section>
  );
}

function useLine(): string {
  const spans = useSpans();
  const released = useReleased(spans?.capture ?? '').length;
  if (!spans?.chosen) return 'no span at rest yet';
  return released > 0 ? `${plural(released, 'frame')} released` : 'nothing released';
}

export const output: OutputDefinition = {
  name: 'sending',
  title: 'For sending',
  saves: 'export',
  files: /(?!)/,
  sends: true,
  useLine,
  Shown,
  writes: (map) => `${sendingStem(map)}.schedule.zip, .excerpt.zip or .excerpt.pcapng`,
  save: saveConfirmed,
};
