/**
 * The clocks behind the grouping: all of them against the one in the middle, and under it the held identifier against one group,
 * where one clock stays within its band and two drift apart. Where stamps cannot show a clock, that is said in place of the picture.
 */
import { useMemo, type ReactNode } from 'react';
import type { Clocks } from '../../../timing/senders/drift-picture.ts';
import {
  allCurves,
  coarseWords,
  nearestGroup,
  residualCurves,
  residualWords,
  stampStepOf,
} from '../../pictures/drift-curves.ts';
import { driftScene } from '../../pictures/drift-scene.ts';
import type { Strand } from '../../../timing/loom/model.ts';
import { useClocks } from '../../stores/asking.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { clock, fixed, plural, signed } from '../../../kit/sheet-figures.ts';
import { useGroupLetters, type HeldLoom } from './held.ts';
import { useSenders } from './store.ts';

const ALL_HEIGHT = 178;
/** Tags of many groups want room below each other. */
const TAG_HEIGHT = 17;
const TAG_ROOM = 34;
const ONE_HEIGHT = 112;

export function DriftPart({ held }: { held: HeldLoom }): ReactNode {
  const clocks = useClocks();
  const { survey } = held;
  if (!survey) return null;
  const shown = clocks.value;
  const failed = clocks.slot?.state === 'failed';
  return (
    <section className="panel-part senders-drift">
      <h3>Why these belong together</h3>
      {failed && <p className="small">The clocks could not be read: {clocks.slot?.note}.</p>}
      {!failed && !shown && <p className="small dim">Reading the clocks.</p>}
      {shown && shown.readings.length === 0 && <NoClocks held={held} />}
      {shown && shown.readings.length > 0 && <AllClocks clocks={shown} held={held} />}
      {shown && held.strand && shown.readings.length > 0 && (
        <OneClock clocks={shown} held={held} strand={held.strand} />
      )}
    </section>
  );
}

function NoClocks({ held }: { held: HeldLoom }): ReactNode {
  const kind = held.survey?.capture.clock.kind;
  return (
    <p className="small dim">
      No clock shows in this recording, so there is nothing to draw:{' '}
      {kind === 'none'
        ? 'the file has no stamps. Record it again with stamps as fine as the adapter can.'
        : 'its stamps are too coarse, or it is too short, or too little is sent on a fixed period. Minutes of recording with stamps of 0.1 ms or finer would do.'}
    </p>
  );
}

function AllClocks({ clocks, held }: { clocks: Clocks; held: HeldLoom }): ReactNode {
  const groupOf = useGroupLetters(held.survey);
  const stepUs = stepOf(held);
  const frame = held.strand?.frame ?? null;
  const { curves, reference, fans, left } = useMemo(
    () => allCurves(clocks, groupOf, frame, stepUs),
    [clocks, groupOf, frame, stepUs],
  );
  const cursorS = useView((view) => view.cursorS);
  const lastsS = lastOf(held);
  const scene = useMemo(
    () =>
      driftScene({ middlesS: clocks.middlesS, curves, lastsS, cursorS, stepUs, axis: `ahead of ${reference ?? ''}` }),
    [clocks, curves, lastsS, cursorS, stepUs, reference],
  );
  const coarse = coarseWords(stepUs, lastsS);
  if (reference === null)
    return (
      <p className="small dim">
        {plural(clocks.readings.length, 'clock')} can be read, but no two are surely one: nothing to hold them against.
      </p>
    );
  return (
    <>
      <p className="small dim">
        {fans > 1
          ? `Each identifier’s clock against that of ${reference}, the middle one. One module, one clock, one line.`
          : `Only ${reference} shows a clock of its own: its identifiers are held against each other.`}
      </p>
      {coarse && <p className="small">{coarse}</p>}
      <Picture
        label={`Clocks of ${plural(held.survey?.groups.length ?? 0, 'sender')} over the whole recording`}
        height={Math.max(ALL_HEIGHT, TAG_HEIGHT * fans + TAG_ROOM)}
        scene={scene}
        table={<Skews held={held} />}
      />
      <ReadFrom clocks={clocks} lastsS={lastsS} />
      {left > 0 && (
        <p className="tiny dim">
          {plural(left, 'reading')} far off an identifier’s own line left out: frames sent beside their ticks.
        </p>
      )}
    </>
  );
}

/** Where the lines stop short of the recording: why. */
function ReadFrom({ clocks: { middlesS, readings }, lastsS }: { clocks: Clocks; lastsS: number }): ReactNode {
  const at = [...middlesS.keys()].filter((window) =>
    readings.some(({ leastUs }) => !Number.isNaN(leastUs[window] as number)),
  );
  const half = lastsS / middlesS.length / 2;
  const [fromS, toS] = [(middlesS[at[0] ?? 0] ?? 0) - half, (middlesS[at.at(-1) ?? 0] ?? 0) + half];
  if (at.length === 0 || toS - fromS > NEARLY_ALL * lastsS) return null;
  return (
    <p className="tiny dim">
      Clocks are read over the longest stretch without a pause, {clock(fromS, 0)} to {clock(toS, 0)}.
    </p>
  );
}
const NEARLY_ALL = 0.9;

const stepOf = ({ survey }: HeldLoom): number => (survey ? stampStepOf(survey.capture.clock) : 0);
const lastOf = ({ survey }: HeldLoom): number => (survey ? survey.capture.startS + survey.capture.durationS : 0);

function Skews({ held }: { held: HeldLoom }): ReactNode {
  return (
    <table>
      <caption>Clocks of the senders against the middle one</caption>
      <thead>
        <tr>
          <th>sender</th>
          <th>skew</th>
        </tr>
      </thead>
      <tbody>
        {held.survey?.groups.map(({ group, name, skewPpm }) => (
          <tr key={group}>
            <td>{name ? `${group} ${name}` : group}</td>
            <td>{skewPpm === null ? 'not told' : `${signed(skewPpm, 2)} ppm`}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function OneClock({ clocks, held, strand }: { clocks: Clocks; held: HeldLoom; strand: Strand }): ReactNode {
  const groupOf = useGroupLetters(held.survey);
  const chosen = useSenders((state) => state.against);
  const letters = useMemo(
    () =>
      (held.survey?.groups ?? [])
        .map(({ group }) => group)
        .filter((group) => clocks.readings.some((one) => groupOf(one) === group)),
    [held.survey, clocks, groupOf],
  );
  const { frame } = strand;
  const stepUs = stepOf(held);
  const nearest = useMemo(
    () => (strand.group ? null : nearestGroup(clocks, groupOf, strand.frame, letters)),
    [clocks, groupOf, strand, letters],
  );
  const against = chosen && letters.includes(chosen) ? chosen : (strand.group ?? nearest);
  const shown = useMemo(
    () => (against ? residualCurves(clocks, groupOf, frame, against, stepUs) : null),
    [clocks, groupOf, frame, against, stepUs],
  );
  const cursorS = useView((view) => view.cursorS);
  const lastsS = lastOf(held);
  const scene = useMemo(
    () =>
      driftScene({
        middlesS: clocks.middlesS,
        curves: shown?.curves ?? [],
        lastsS,
        cursorS,
        stepUs,
        axis: `ahead of ${against ?? ''}`,
      }),
    [clocks, shown, lastsS, cursorS, stepUs, against],
  );
  if (against === null) return null;
  const isOwn = against === strand.group;
  return (
    <div className="senders-one">
      <p className="small line-of">
        <label>
          <span className="mono">{strand.shownId}</span> against{' '}
          <select
            className="field"
            value={against}
            aria-label="Clock to hold it against"
            onChange={(event) => useSenders.getState().set({ against: event.target.value })}
          >
            {letters.map((group) => (
              <option key={group} value={group}>
                {group === strand.group ? `the rest of ${group}` : group}
              </option>
            ))}
          </select>
        </label>
      </p>
      {shown?.residual ? (
        <>
          <Picture
            label={`${strand.shownId} against ${against}: ${shown.residual.verdict}${shown.residual.drift ? `, ${fixed(shown.residual.drift.ppm, 2)} ppm` : ''}`}
            height={ONE_HEIGHT}
            scene={scene}
          />
          <p className="small inferred">{residualWords(shown.residual, strand.shownId, against, isOwn)}</p>
        </>
      ) : (
        <p className="small dim inferred">{noneWords(clocks, strand, isOwn)}</p>
      )}
    </div>
  );
}

/** Why this one has no curve. */
function noneWords(clocks: Clocks, { frame, group }: Strand, isOwn: boolean): string {
  const isRead = clocks.readings.some(
    ({ bus, id, extended }) => bus === frame.bus && id === frame.id && extended === frame.extended,
  );
  if (isRead && isOwn && group) return 'Nothing else of its sender shows a clock to hold it against.';
  return 'Its clock does not show: it is not sent on a period that is steady enough, or too shortly.';
}
