/** "What is still weak?": what the open recording has of what is needed, the moments to look at on the time column above. */
import { useMemo, type KeyboardEvent, type ReactNode } from 'react';
import type { Sufficiency } from '../../../proof/suffices/types.ts';
import { threadScene } from '../../pictures/proof-scene.ts';
import { GoToCaptures } from '../../shell/GoToCaptures.tsx';
import { movedTo } from '../../shell/list-keys.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { useCurrentCapture, type Finding } from '../../stores/finding.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { usePalette } from '../../theme/palette.ts';
import { percent, plural } from '../../../kit/sheet-figures.ts';
import { useActionsShown } from '../payloads/actions-shown.ts';
import { usePhone } from '../payloads/layout.ts';
import { MarksInView } from '../payloads/MarksInView.tsx';
import { DonorField } from './DonorField.tsx';
import { needId, NeedSection } from './NeedSection.tsx';
import { momentsOf, sectionsOf, type NeedRow } from './needs.ts';
import { useProof } from './store.ts';

export function WeakPlace({ finding }: { finding: Finding<Sufficiency> }): ReactNode {
  const { value } = finding;
  if (!value) return <Waiting finding={finding} />;
  return <Needs told={value} outdated={finding.outdated} />;
}

function Waiting({ finding: { slot, again } }: { finding: Finding<Sufficiency> }): ReactNode {
  const current = useCurrentCapture();
  const isOver = slot?.state === 'stopped' || slot?.state === 'failed';
  const words = !current
    ? 'No recording is open: nothing can be said of what it lacks.'
    : isOver
      ? `It could not be told whether the recording suffices: ${slot.note || 'it was stopped'}.`
      : slot
        ? `Looking at what the recording lacks: ${percent(slot.share)}.`
        : 'What the recording lacks is told once its fields are found, and what answers the marks.';
  return (
    <div className="past-gutter need proof-unchosen">
      <p role="status">{words}</p>
      {!current && <GoToCaptures />}
      {isOver && (
        <button type="button" className="button" onClick={again}>
          Try again
        </button>
      )}
    </div>
  );
}

export const rowsIn = (told: Sufficiency): readonly NeedRow[] => sectionsOf(told).flatMap(({ rows }) => rows);

function Needs({ told, outdated }: { told: Sufficiency; outdated: boolean }): ReactNode {
  const sections = useMemo(() => sectionsOf(told), [told]);
  const met = useProof((state) => state.met);
  const rows = useMemo(
    () => sections.flatMap((section) => (section.verdict === 'enough' && !met ? [] : section.rows)),
    [sections, met],
  );
  const phone = usePhone();
  const heldKey = useProof((state) => state.need);
  const held = rows.find(({ key }) => key === heldKey) ?? null;
  const onKeyDown = (event: KeyboardEvent): void => {
    const to = movedTo(event.key, held ? rows.indexOf(held) : -1, rows.length);
    const row = to === null ? undefined : rows[to];
    if (!row) return;
    event.preventDefault();
    useProof.getState().set({ need: row.key });
    document.getElementById(needId(row.key))?.focus();
  };
  return (
    <>
      <p className="past-gutter proof-says">
        {told.says}
        {outdated && <span className="inferred dim"> From before your last change.</span>}
      </p>
      {phone && <DonorField />}
      <Time held={held} />
      <div className="proof-needs" onKeyDown={onKeyDown}>
        {sections.map((section) => (
          <NeedSection
            key={section.verdict}
            section={section}
            held={held}
            first={rows[0] ?? null}
            folded={section.verdict === 'enough' && !met}
          />
        ))}
      </div>
    </>
  );
}

/** Marks, and the moments of the need that is held. */
function Time({ held }: { held: NeedRow | null }): ReactNode {
  const shown = useActionsShown();
  const palette = usePalette();
  const window = useView((view) => view.window);
  const moments = useMemo(() => (held ? momentsOf(held) : []), [held]);
  const thread = useMemo(
    () =>
      threadScene({
        window,
        columns: shown.columns,
        color: palette.ink2,
        width: 1.25,
        thread: moments.length > 0 ? 'solid' : 'rest',
        failed: [],
        strayed: moments,
        words: held ? held.title : '',
        inferred: false,
      }),
    [window, shown.columns, palette, moments, held],
  );
  return (
    <TimeSheet className="proof-sheet">
      <Row label={<span className="proof-time-label tiny dimmer">marks</span>}>
        <MarksInView heads={shown.heads} height={22} />
      </Row>
      <Row
        label={
          <span className="proof-time-label tiny dimmer">
            {moments.length > 0 ? plural(moments.length, 'moment') : 'moments'}
          </span>
        }
      >
        <Picture label={held ? `Moments of ${held.title}` : 'Moments of the held need'} height={28} scene={thread} />
      </Row>
    </TimeSheet>
  );
}
