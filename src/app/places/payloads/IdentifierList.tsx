/** The identifiers in the gutter: group, identifier, and how much of the payload moves. One stop; arrows move, a filter narrows. */
import { useEffect, useMemo, useRef, type KeyboardEvent, type ReactNode } from 'react';
import { streamName } from '../../../frames/table.ts';
import { displayId } from '../../../kit/units.ts';
import { useSurvey } from '../../stores/asking.ts';
import { groupStyle } from '../../../kit/drawing/palette.ts';
import { percent, plural } from '../../../kit/sheet-figures.ts';
import { activityOf, findingsFor, holdStream, type Held, type Listed } from './held.ts';
import { usePayloads } from './store.ts';

export const shortId = ({ id, extended }: { readonly id: number; readonly extended: boolean }): string =>
  extended ? displayId(id, true).slice(2) : displayId(id, false);

const matches = (stream: Listed, filter: string): boolean => {
  const typed = filter.trim().toLowerCase().replace(/^0x/, '');
  return (
    !typed || displayId(stream.id, stream.extended).toLowerCase().includes(typed) || stream.bus.toLowerCase() === typed
  );
};

export function IdentifierList({ held }: { held: Held }): ReactNode {
  const filter = usePayloads((state) => state.filter);
  const shown = useMemo(() => held.identifiers.filter((stream) => matches(stream, filter)), [held.identifiers, filter]);
  const current = held.stream ? streamName(held.stream) : null;
  const index = shown.findIndex((stream) => streamName(stream) === current);
  const list = useRef<HTMLDivElement>(null);
  useEffect(() => {
    list.current?.querySelector('[aria-selected="true"]')?.scrollIntoView({ block: 'nearest' });
  }, [current]);
  const go = (to: number): void => {
    const next = shown[Math.min(shown.length - 1, Math.max(0, to))];
    if (next) holdStream(next);
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    const moves: Record<string, number> = {
      ArrowUp: index - 1,
      ArrowDown: index + 1,
      Home: 0,
      End: shown.length - 1,
      PageUp: index - 10,
      PageDown: index + 10,
    };
    const to = moves[event.key];
    if (to === undefined || (event.currentTarget.tagName === 'INPUT' && (event.key === 'Home' || event.key === 'End')))
      return;
    event.preventDefault();
    go(to);
  };
  const groups = useSenders();
  const buses = new Set(held.identifiers.map(({ bus }) => bus));
  return (
    <div className="payloads-identifiers">
      <input
        className="field"
        type="search"
        placeholder="find"
        aria-label="Find an identifier"
        title="Find an identifier: /"
        value={filter}
        onChange={(event) => usePayloads.getState().set({ filter: event.target.value })}
        onKeyDown={(event) => {
          if (event.key === 'Escape') usePayloads.getState().set({ filter: '' });
          if (event.key === 'Enter' && index < 0) go(0);
          onKeyDown(event);
        }}
      />
      <div
        ref={list}
        className="payloads-list"
        role="listbox"
        tabIndex={0}
        aria-label={`Identifiers, ${plural(shown.length, 'shown', 'shown')}`}
        aria-activedescendant={index >= 0 ? `identifier-${index}` : undefined}
        onKeyDown={onKeyDown}
      >
        {shown.map((stream, place) => (
          <Identifier
            key={streamName(stream)}
            stream={stream}
            place={place}
            held={held}
            sender={groups.get(`${stream.bus} ${stream.id} ${stream.extended}`) ?? null}
            heading={buses.size > 1 && stream.bus !== shown[place - 1]?.bus ? stream.bus : null}
            selected={place === index}
          />
        ))}
        {shown.length === 0 && <p className="tiny dim">none like that</p>}
      </div>
    </div>
  );
}

interface IdentifierProps {
  readonly stream: Listed;
  readonly place: number;
  readonly held: Held;
  readonly sender: Sender | null;
  readonly heading: string | null;
  readonly selected: boolean;
}

function Identifier({ stream, place, held, sender, heading, selected }: IdentifierProps): ReactNode {
  const activity = activityOf(findingsFor(held.fields.value, stream));
  const sent = stream.direction === 'sent';
  const from = sent ? 'sent by the logger' : sender ? `from ${sender.name}` : '';
  return (
    <>
      {heading && (
        <div className="payloads-bus tiny dim" role="presentation">
          {heading}
        </div>
      )}
      <div
        id={`identifier-${place}`}
        role="option"
        aria-selected={selected}
        title={from || undefined}
        aria-label={`${shortId(stream)} on ${stream.bus}${from ? `, ${from}` : ''}, ${plural(stream.count, 'frame')}, moves ${percent(activity)}`}
        className={`payloads-id mono ${selected ? 'selected' : ''} ${sent ? 'inferred' : ''}`}
        onClick={() => holdStream(stream)}
      >
        <i className="hue" style={{ background: groupStyle(sender?.group ?? null, 'var(--rule-2)') }} />
        <span>{shortId(stream)}</span>
        {sent ? (
          <span className="payloads-sent">sent</span>
        ) : (
          <span className="payloads-activity" aria-hidden="true">
            <i style={{ width: `${activity * 100}%` }} />
          </span>
        )}
      </div>
    </>
  );
}

interface Sender {
  readonly group: string;
  /** As a person named it, with its letter. */
  readonly name: string;
}

/** Sender of each identifier, by bus and identifier; empty until groups are known. */
function useSenders(): ReadonlyMap<string, Sender> {
  const survey = useSurvey().value;
  return useMemo(() => {
    const named = new Map(
      survey?.groups.map(({ group, name }) => [group, name ? `${group}, ${name}` : `sender ${group}`]),
    );
    return new Map(
      (survey?.frames ?? []).flatMap(({ bus, id, extended, group }) =>
        group ? [[`${bus} ${Number(id)} ${extended}`, { group, name: named.get(group) ?? group }] as const] : [],
      ),
    );
  }, [survey]);
}

/** On a phone the list is the browser's own chooser. */
export function IdentifierChooser({ held }: { held: Held }): ReactNode {
  return (
    <label className="labelled payloads-chooser">
      identifier
      <select
        className="field mono"
        value={held.stream ? streamName(held.stream) : ''}
        onChange={(event) => {
          const next = held.identifiers.find((stream) => streamName(stream) === event.target.value);
          if (next) holdStream(next);
        }}
      >
        {held.identifiers.map((stream) => (
          <option key={streamName(stream)} value={streamName(stream)}>
            {displayId(stream.id, stream.extended)} on {stream.bus}
            {stream.direction === 'sent' ? ', sent by the logger' : ''}
          </option>
        ))}
      </select>
    </label>
  );
}
