/** The plan drawn: a lane a frame. The picture is one stop: arrows walk through the lanes, Enter opens the payload of the one that is held. */
import { useMemo, useRef, type KeyboardEvent, type ReactNode } from 'react';
import { groupStyle, isHueRepeated } from '../../../../kit/drawing/palette.ts';
import { period, plural } from '../../../../kit/sheet-figures.ts';
import { movedTo } from '../../../shell/list-keys.ts';
import { useView } from '../../../stores/view.ts';
import { Picture } from '../../../surface/Picture.tsx';
import { usePhone } from '../../payloads/layout.ts';
import { useHandover } from '../store.ts';
import type { Lane } from './lanes.ts';
import { AXIS_HEIGHT, lanesHeight, lanesScene } from './lanes-scene.ts';
import { NEED_WORDS, NeedGlyph } from './NeedGlyph.tsx';

const PITCH = 26;
const PITCH_PHONE = 44;

const hold = (key: string | null): void => useHandover.getState().set({ frame: key });

function openPayload({ planned: { frame } }: Lane): void {
  const { bus, id, extended } = frame;
  useView.getState().select({ stream: { bus, id: Number(id), extended, direction: 'received' } });
  useView.getState().go('payloads');
}

export interface LanesProps {
  readonly lanes: readonly Lane[];
  readonly spanMs: number;
  readonly held: string | null;
  /** More than one bus: each lane names its own. */
  readonly namesBus: boolean;
}

export function Lanes({ lanes, spanMs, held, namesBus }: LanesProps): ReactNode {
  const list = useRef<HTMLDivElement>(null);
  const pitch = usePhone() ? PITCH_PHONE : PITCH;
  const scene = useMemo(() => lanesScene({ lanes, spanMs, pitch, held }), [lanes, spanMs, pitch, held]);
  const at = lanes.findIndex(({ key }) => key === held);
  const onKeyDown = (event: KeyboardEvent): void => {
    const lane = lanes[at];
    if (event.key === 'Enter' && lane) openPayload(lane);
    else if (event.key === 'Escape' && held) hold(null);
    else {
      const to = movedTo(event.key, at, lanes.length);
      const next = to === null ? undefined : lanes[to];
      if (!next) return;
      hold(next.key);
      document.getElementById(laneId(next))?.scrollIntoView({ block: 'nearest' });
    }
    event.preventDefault();
  };
  return (
    <div
      ref={list}
      className={`plan-lanes ${isWide(lanes, namesBus) ? 'wide' : ''}`}
      role="listbox"
      aria-label={`${plural(lanes.length, 'frame')} over ${period(spanMs)}`}
      aria-activedescendant={at >= 0 ? laneId(lanes[at] as Lane) : undefined}
      tabIndex={0}
      onKeyDown={onKeyDown}
    >
      <div className="plan-rows" style={{ paddingTop: AXIS_HEIGHT }}>
        {lanes.map((lane) => (
          <LaneRow key={lane.key} lane={lane} held={lane.key === held} height={pitch} namesBus={namesBus} />
        ))}
      </div>
      <div className="plan-picture">
        <Picture label="" height={lanesHeight(lanes.length, pitch)} scene={scene} />
      </div>
    </div>
  );
}

/** Identifiers of 29 bits with their bus need more room. */
const isWide = (lanes: readonly Lane[], namesBus: boolean): boolean =>
  namesBus && lanes.some(({ planned }) => planned.frame.extended);

const laneId = ({ key }: Lane): string => `lane ${key}`.replaceAll(' ', '-');

const dueWords = ({ everyMs, words, isPlaced, atMs }: Lane): string => {
  if (everyMs === null) return words;
  return `every ${period(everyMs)}${isPlaced && atMs[0] !== undefined ? `, from ${period(atMs[0])} on` : ''}`;
};

function LaneRow({
  lane,
  held,
  height,
  namesBus,
}: {
  lane: Lane;
  held: boolean;
  height: number;
  namesBus: boolean;
}): ReactNode {
  const { planned, group, label } = lane;
  const guards = [lane.counter && 'a counter runs', lane.checksum && 'its checksum is made anew'].filter(Boolean);
  return (
    <div
      id={laneId(lane)}
      role="option"
      aria-selected={held}
      className="plan-row"
      style={{ height }}
      title={planned.frame.name}
      onClick={() => hold(held ? null : lane.key)}
    >
      <i
        className={`delay-hue ${isHueRepeated(group) ? 'repeated' : ''}`}
        style={{ borderColor: groupStyle(group, 'var(--rule-key)') }}
        aria-hidden="true"
      />
      <span className="mono plan-id">{label}</span>
      {namesBus && <span className="tiny dimmer plan-bus">{planned.frame.bus}</span>}
      <NeedGlyph need={planned.need} />
      <span className="unseen">
        {NEED_WORDS[planned.need]}, {dueWords(lane)}
        {group ? `, sender ${group}` : ''}
        {guards.length > 0 ? `, ${guards.join(', ')}` : ''}
        {planned.whyNotProduced ? `, cannot be produced: ${planned.whyNotProduced}` : ''}
      </span>
    </div>
  );
}
