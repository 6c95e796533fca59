/** Whose clock: how far the marks' clock is from the recorder's, found from the data, shown as a curve, set by hand if need be. */
import { useMemo, type ReactNode } from 'react';
import { movedMark } from '../../../actions/marks.ts';
import type { LinkReport } from '../../../actions/types.ts';
import type { RepetitionsPicture } from '../../../jobs/engine-types.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { OffsetField } from '../../offset/OffsetField.tsx';
import { OffsetPicture } from '../../offset/OffsetPicture.tsx';
import { errorOf } from '../../pictures/agreement-model.ts';
import { REPETITIONS_HEIGHT, repetitionsScene } from '../../pictures/marks.ts';
import { useFields, useFoundClock, useLinks, useRulerMarks } from '../../stores/asking.ts';
import { useCurrentCapture, useReadyEngine, type Finding } from '../../stores/finding.ts';
import { useQuestion } from '../../stores/questions.ts';
import { setOffset } from '../../stores/marks-edits.ts';
import { Picture } from '../../surface/Picture.tsx';
import { fixed, percent, signed } from '../../../kit/sheet-figures.ts';
import { sentencesOf } from '../../words/sentence.ts';
import { strayWords } from '../../words/stray-marks.ts';
import { useWitness } from './Witness.tsx';

export function WhoseClock(): ReactNode {
  const current = useCurrentCapture();
  const links = useLinks();
  const fields = useFields();
  if (!current || current.open.phase !== 'ready' || current.entry.marks.length === 0) return null;
  const running = [fields.slot, links.slot].find((slot) => slot?.state === 'running');
  return (
    <section className="whose-clock" aria-label="Whose clock">
      <div>
        <h3>Whose clock?</h3>
        {links.value ? (
          <OffsetWords id={current.entry.id} report={links.value} outdated={links.outdated} />
        ) : (
          <NotYet finding={links} />
        )}
        {running && (
          <p className="small dim">
            {running.note || 'comparing marks with fields'}, {percent(running.share)}{' '}
            <button type="button" className="button plain small" onClick={running.stop}>
              stop
            </button>
          </p>
        )}
      </div>
      {links.value && <Pictures id={current.entry.id} report={links.value} />}
    </section>
  );
}

function NotYet({ finding }: { finding: Finding<LinkReport> }): ReactNode {
  if (finding.slot?.state !== 'failed' && finding.slot?.state !== 'stopped')
    return <p className="small dim inferred">Waits until the payloads have been looked at.</p>;
  return (
    <>
      <p className="small" role="alert">
        Not found: {finding.slot.note || 'it was stopped'}. Marks are kept.
      </p>
      <p style={{ marginTop: 6 }}>
        <button type="button" className="button" onClick={finding.again}>
          Try again
        </button>
      </p>
    </>
  );
}

const FROM_WORDS = {
  found: 'found from the data',
  given: 'given by hand',
  'not-needed': 'not needed',
  'not-found': 'not found',
};

function OffsetWords({ id, report, outdated }: { id: string; report: LinkReport; outdated: boolean }): ReactNode {
  const { clock } = report;
  const current = useCurrentCapture();
  const offset = current?.entry.markOffset ?? 'auto';
  const { marks } = useRulerMarks();
  const stray = strayWords(marks, current?.open.summary?.durationS ?? Infinity);
  const error = offset === 'auto' ? errorOf(clock) : null;
  const heldS = offset === 'auto' ? clock.offsetS : offset;
  return (
    <>
      {stray && (
        <p className="small" role="status">
          {stray}
        </p>
      )}
      <p className="offset-figure">{signed(heldS, 2)} s</p>
      <p className="dim small">
        {error === null ? '' : `± ${fixed(error, 2)} s, `}
        {FROM_WORDS[offset === 'auto' ? clock.from : 'given']}
        {outdated ? ', from before your last change' : ''}
      </p>
      <OffsetField
        label="Offset by hand, seconds"
        heldS={heldS}
        byHand={offset !== 'auto'}
        hold={(to) => setOffset(id, to)}
      />
      {sentencesOf(clock.words || 'Holds your reaction time too: only lags between fields are claimed.').map(
        (words) => (
          <p key={words} className="small dim inferred" style={{ marginTop: 8 }}>
            {words}
          </p>
        ),
      )}
    </>
  );
}

function Pictures({ id, report }: { id: string; report: LinkReport }): ReactNode {
  const found = useFoundClock();
  const clock = report.clock.curve ? report.clock : (found ?? report.clock);
  const offset = useCurrentCapture()?.entry.markOffset ?? 'auto';
  const heldS = offset === 'auto' ? clock.offsetS : offset;
  return (
    <div className="clock-pictures">
      {clock.curve ? (
        <OffsetPicture
          title="Agreement of marks and fields"
          clock={clock}
          heldS={heldS}
          hold={(to) => setOffset(id, to)}
        />
      ) : (
        <div>
          <h3>Agreement of marks and fields</h3>
          <p className="small dim inferred">
            {clock.from === 'given' ? 'Given by hand: no offsets were tried.' : 'No offsets were tried.'}
          </p>
        </div>
      )}
      <Repetitions />
    </div>
  );
}

const BEFORE_S = 1.6;

/** The repetitions of the witness's action laid over each other, as marked and as moved by the offset. */
function Repetitions(): ReactNode {
  const ready = useReadyEngine();
  const witness = useWitness();
  const { marks, actions, clock } = useRulerMarks();
  const report = useLinks().value;
  const movedByS = report ? report.clockOffsetS : 0;
  const own = useMemo(() => marks.filter(({ action }) => action === witness?.action), [marks, witness]);
  const lasts = own.map(({ startS, endS }) => (endS ?? startS) - startS).sort((a, b) => a - b);
  const lastsS = lasts[Math.floor(lasts.length / 2)] ?? 0;
  const afterS = Math.min(12, Math.max(3, lastsS + 2.5));
  const key =
    ready && witness && own.length
      ? `${ready.identity}/repetitions/${JSON.stringify(witness.request)}/${clock.shiftS}/${clock.drift?.ppm ?? 0}/${JSON.stringify(own)}`
      : null;
  const answer = useQuestion<{ asMarked: RepetitionsPicture | null; moved: RepetitionsPicture } | null>(
    key,
    async () => {
      if (!ready || !witness) return null;
      const shape = { beforeS: BEFORE_S, afterS, columns: 160 };
      const moved = await ready.engine.repetitions(witness.request, own, shape);
      if (Math.abs(movedByS) < 0.05 || Math.abs(movedByS) > 60) return { asMarked: null, moved };
      const back = own.map((mark) => movedMark(mark, (atS) => atS - movedByS));
      return { asMarked: await ready.engine.repetitions(witness.request, back, shape), moved };
    },
  ).value;
  const index = witness ? actions.indexOf(witness.action) : 0;
  const before = useMemo(
    () => (answer?.asMarked ? repetitionsScene(answer.asMarked, index, lastsS) : null),
    [answer, index, lastsS],
  );
  const after = useMemo(() => (answer ? repetitionsScene(answer.moved, index, lastsS) : null), [answer, index, lastsS]);
  if (!witness || !after) return <div />;
  const what = `${own.length} × ${witness.action}, ${placeWords(witness.link)} of ${witness.link.id}`;
  return (
    <div>
      {before && (
        <>
          <h3>as marked</h3>
          <Picture label={`As marked: ${what}`} height={REPETITIONS_HEIGHT} scene={before} />
        </>
      )}
      <h3 style={before ? { marginTop: 8 } : undefined}>
        {before ? `moved by ${signed(movedByS, 2)} s` : 'all repetitions, from the mark on'}
      </h3>
      <Picture label={`All repetitions: ${what}`} height={REPETITIONS_HEIGHT} scene={after} />
      <p className="tiny dim" style={{ marginTop: 4 }}>
        {what}; from {fixed(BEFORE_S, 1)} s before the mark to {fixed(afterS, 1)} s after
      </p>
    </div>
  );
}
