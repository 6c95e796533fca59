/** Every capture of the dossier as a lane on its own clock, with its role and how far it has been read. */
import type { ReactNode } from 'react';
import type { DossierCapture } from '../../../jobs/dossier.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useTimeScale } from '../../shell/time-scale.ts';
import { useCaptures, type OpenCapture } from '../../stores/captures.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { percent, plural } from '../../../kit/sheet-figures.ts';

export function Lanes(): ReactNode {
  const captures = useDossier(({ dossier }) => dossier.captures);
  return (
    <div role="list" aria-label="Captures">
      {captures.map((entry) => (
        <Lane key={entry.id} entry={entry} />
      ))}
    </div>
  );
}

function Lane({ entry }: { entry: DossierCapture }): ReactNode {
  const open = useCaptures((state) => state.open.find(({ id }) => id === entry.id));
  const here = useView((view) => view.captureId === entry.id);
  const files = entry.files.map(({ name }) => name).join(', ');
  return (
    <div role="listitem" className={`lane ${here ? 'here' : ''}`}>
      <Row
        label={
          <button
            type="button"
            className="lane-name"
            aria-pressed={here}
            onClick={() => useView.getState().openCapture(entry.id)}
          >
            <b>{entry.title}</b>
            <span title={files}>{files || plural(entry.marks.length, 'mark')}</span>
          </button>
        }
      >
        {open && <LaneBar entry={entry} open={open} />}
      </Row>
    </div>
  );
}

const shareRead = ({ progress }: OpenCapture): number =>
  progress && progress.bytesTotal ? progress.bytesRead / progress.bytesTotal : 0;

const PHASE_WORDS: Readonly<Record<OpenCapture['phase'], string>> = {
  waiting: 'waits for its turn',
  reading: '',
  ready: '',
  failed: 'not understood: see the reasons',
  stopped: 'stopped before its end',
  missing: 'its file is not in this browser: hand it over again',
  unrecorded: 'marks without a recording: add its files',
};

const LETTER_WIDTH = 7;
const roleWidth = (role: string): number => role.length * LETTER_WIDTH + 16;
const roleFits = (role: string, width: number): boolean => roleWidth(role) <= width;

/** On the ruler's time; how long a capture lasts is only known once it has been read. */
function LaneBar({ entry, open }: { entry: DossierCapture; open: OpenCapture }): ReactNode {
  const scale = useTimeScale();
  const domain = useView((view) => view.domain);
  const here = useView((view) => view.captureId === entry.id);
  const share = open.phase === 'reading' ? shareRead(open) : 1;
  const lastsS = open.summary?.durationS ?? domain.toS;
  const left = Math.max(0, Math.min(scale.width, scale.x(0)));
  const right = Math.max(left, Math.min(scale.width, scale.x(lastsS)));
  const solid = open.phase === 'ready' ? right - left : open.phase === 'reading' ? scale.width * share : 0;
  const outside = right + roleWidth(entry.role) <= scale.width ? 'beside' : 'cut';
  const words = open.phase === 'reading' ? `${percent(share)} read` : PHASE_WORDS[open.phase];
  return (
    <div
      className={`lane-bar ${open.phase} ${here ? 'here' : ''}`}
      style={open.phase === 'ready' ? { left, width: right - left } : { left: 0, width: '100%' }}
    >
      <span className="lane-fill" style={{ width: solid }} />
      <span className={`lane-role ${solid > 60 ? '' : 'bare'} ${roleFits(entry.role, right - left) ? '' : outside}`}>
        {entry.role}
      </span>
      {words && <span className="lane-words">{words}</span>}
    </div>
  );
}
