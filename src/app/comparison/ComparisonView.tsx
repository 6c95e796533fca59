/** The picture side of two captures compared: a thread an identifier, those that fall silent first; arrows hold one, its reasons stand in the panel. */
import { useEffect, useMemo, useRef, type KeyboardEvent, type ReactNode } from 'react';
import type { StreamKey } from '../../frames/table.ts';
import type { ComparisonProfile } from '../../proof/compare/profile-types.ts';
import type { ComparedFrame, Comparison } from '../../proof/compare/types.ts';
import { useDossier } from '../stores/dossier.ts';
import { useView } from '../stores/view.ts';
import { clock, plural } from '../../kit/sheet-figures.ts';
import { useComparison } from './asking.ts';
import './comparison.css';
import { listIds } from './fates.ts';
import { FateMark } from './glyphs.tsx';
import { GroupTag } from '../shell/GroupTag.tsx';
import { PresencePicture } from './PresencePicture.tsx';
import { alikeIn, sectionsOf, type ComparedRow, type RowSection } from './rows.ts';
import { SideChooser } from './SideChooser.tsx';
import { Waiting } from './Waiting.tsx';

export function ComparisonView(): ReactNode {
  const asked = useComparison();
  const { sides, comparison } = asked;
  const [a, b] = [asked.a.profile, asked.b.profile];
  return (
    <section className="cmp" aria-label="Two captures compared">
      <div className="cmp-sides">
        <SideChooser which="a" side={sides.a} />
        <SideChooser which="b" side={sides.b} />
      </div>
      {(!sides.a || !sides.b) && <Alone />}
      {sides.a && sides.b && !comparison && <Waiting asked={asked} className="cmp-waiting dim" />}
      {comparison && a && b && <Rows comparison={comparison} a={a} b={b} />}
    </section>
  );
}

/** With one capture only: what a second would give, and that two spans of it can do. */
function Alone(): ReactNode {
  const any = useDossier(({ dossier }) => dossier.captures[0]);
  return (
    <p className="cmp-waiting">
      A second capture with a module unplugged would show what that module sends, and who reacts to its absence.{' '}
      {any && (
        <span className="dim">Add its files, or choose this capture twice and take a span of it for each side.</span>
      )}
    </p>
  );
}

export const streamOf = ({ bus, id, extended }: ComparedFrame): StreamKey => ({
  bus,
  id: Number(id),
  extended,
  direction: 'received',
});

const isHeld = (stream: StreamKey | null, { frame }: ComparedRow): boolean =>
  stream !== null && stream.bus === frame.bus && stream.id === Number(frame.id) && stream.extended === frame.extended;

interface RowsProps {
  readonly comparison: Comparison;
  readonly a: ComparisonProfile;
  readonly b: ComparisonProfile;
}

function Rows({ comparison, a, b }: RowsProps): ReactNode {
  const sections = useMemo(() => sectionsOf(comparison, a, b), [comparison, a, b]);
  const rows = useMemo(() => sections.flatMap((section) => section.rows), [sections]);
  const held = useView((view) => view.selection.stream);
  const index = rows.findIndex((row) => isHeld(held, row));
  const list = useRef<HTMLDivElement>(null);
  useEffect(() => {
    list.current?.querySelector('[aria-selected="true"]')?.scrollIntoView({ block: 'nearest' });
  }, [index]);
  const onKeyDown = (event: KeyboardEvent): void => {
    const moves: Record<string, number> = {
      ArrowUp: index - 1,
      ArrowDown: index + 1,
      Home: 0,
      End: rows.length - 1,
    };
    if (event.key === 'Enter' && index >= 0) return useView.getState().go('payloads');
    const to = moves[event.key];
    if (to === undefined) return;
    event.preventDefault();
    hold(rows[Math.min(rows.length - 1, Math.max(0, to))]);
  };
  return (
    <>
      <p className="cmp-lead">{comparison.absent.why}</p>
      <Clocks a={a} b={b} />
      <div
        ref={list}
        className="cmp-list"
        role="listbox"
        tabIndex={0}
        aria-label={`${plural(rows.length, 'identifier')} that differ`}
        aria-activedescendant={index >= 0 ? `cmp-${index}` : undefined}
        onKeyDown={onKeyDown}
      >
        {sections.map((section) => (
          <Section
            key={section.title}
            section={section}
            first={rows.indexOf(section.rows[0] as ComparedRow)}
            {...{ a, b, held }}
          />
        ))}
      </div>
      <Alike frames={alikeIn(sections, a, comparison)} some={rows.length > 0} />
    </>
  );
}

function hold(row: ComparedRow | undefined): void {
  if (row) useView.getState().select({ stream: streamOf(row.frame) });
}

/** The heads of the two halves: each on its own clock. */
function Clocks({ a, b }: { a: ComparisonProfile; b: ComparisonProfile }): ReactNode {
  const span = ({ startS, durationS }: ComparisonProfile): string =>
    `${clock(startS, 0)} to ${clock(startS + durationS, 0)}`;
  return (
    <div className="cmp-row cmp-clocks tiny dim" aria-hidden="true">
      <span className="cmp-id">identifier</span>
      <span className="cmp-halves">
        <span className="cmp-half">first, {span(a)}</span>
        <span className="cmp-half">second, {span(b)}</span>
      </span>
      <span className="cmp-words">in the second</span>
    </div>
  );
}

interface SectionProps {
  readonly section: RowSection;
  /** Place of its first row among all. */
  readonly first: number;
  readonly a: ComparisonProfile;
  readonly b: ComparisonProfile;
  readonly held: StreamKey | null;
}

function Section({ section, first, a, b, held }: SectionProps): ReactNode {
  const buses = a.buses.length;
  const id = `cmp-section-${first}`;
  return (
    <div role="group" aria-labelledby={id} className="cmp-section">
      <p className="cmp-title" id={id}>
        <FateMark fate={section.fate} />
        <b>{section.title}</b>
        <span>{section.rows.length}</span>
        {section.note && <span className="inferred dim">{section.note}</span>}
      </p>
      {section.rows.map((row, place) => (
        <div
          key={row.key}
          id={`cmp-${first + place}`}
          role="option"
          aria-selected={isHeld(held, row)}
          className="cmp-row"
          onClick={() => hold(row)}
        >
          <span className="cmp-id">
            {row.group ? <GroupTag group={row.group} /> : <span className="cmp-untagged" />}
            <span className="mono">{row.shownId}</span>
            {buses > 1 && <span className="tiny dimmer">{row.frame.bus}</span>}
          </span>
          <PresencePicture row={row} a={a} b={b} />
          <span className="cmp-words">{row.words}</span>
        </div>
      ))}
    </div>
  );
}

function Alike({ frames, some }: { frames: readonly ComparedFrame[]; some: boolean }): ReactNode {
  if (frames.length === 0) return null;
  return (
    <p className="cmp-alike">
      <FateMark fate="stays" />
      <span>
        <b>{plural(frames.length, some ? 'other' : 'identifier')}</b> {frames.length === 1 ? 'goes' : 'go'} on alike:{' '}
        <span className="mono dim">{listIds(frames, frames.length)}</span>
      </span>
    </p>
  );
}
