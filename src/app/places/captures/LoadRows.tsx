/** Load of each bus over time; without a bit rate frames per second, and the field to give it. */
import { useMemo, type ReactNode } from 'react';
import type { LoadPicture } from '../../../jobs/engine-types.ts';
import type { SurveyBus } from '../../../timing/types.ts';
import { axisMost, LOAD_HEIGHT, loadScene } from '../../pictures/overview.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useSurvey } from '../../stores/asking.ts';
import { useReadyEngine } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useQuestion } from '../../stores/questions.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { count, percent } from '../../../kit/sheet-figures.ts';
import { BitRateField } from './BitRateField.tsx';

export function LoadRows(): ReactNode {
  const ready = useReadyEngine();
  const rates = useDossier(({ dossier }) => dossier.rates);
  const window = useView((view) => view.window);
  const timeWidth = useView((view) => view.timeWidth);
  const survey = useSurvey().value;
  const columns = columnsFor(survey, window.toS - window.fromS, timeWidth);
  const key =
    ready && timeWidth
      ? `${ready.identity}/load/${window.fromS}/${window.toS}/${columns}/${JSON.stringify(rates)}`
      : null;
  const load = useQuestion<LoadPicture>(key, () =>
    (ready as NonNullable<typeof ready>).engine.load({ ...window, columns }, rates),
  );
  if (survey?.capture.clock.kind === 'none') return <NoTime />;
  if (!load.value) return null;
  const { buses, window: drawn } = load.value;
  return buses.map((bus) => (
    <LoadRow
      key={bus.name}
      bus={bus}
      drawn={drawn}
      survey={survey?.buses.find(({ name }) => name === bus.name)}
      fd={hasFd(survey, bus.name)}
    />
  ));
}

function NoTime(): ReactNode {
  return (
    <Row className="load-row" label={<span className="tiny dimmer">load</span>}>
      <p className="small dim survey-words">
        This file has no time stamps: frames stand in their order, a microsecond apart. Load, periods and lags need a
        recording with stamps; which bits move together does not.
      </p>
    </Row>
  );
}

const FRAMES_A_COLUMN = 12;

/** As many columns as pixels, but so few that each holds some frames of the quietest bus: fewer would draw the beat of periods, not the load. */
function columnsFor(survey: ReturnType<typeof useSurvey>['value'], spanS: number, width: number): number {
  const lastsS = survey?.capture.durationS ?? 0;
  const rates = (survey?.buses ?? []).filter(({ frames }) => frames > 0).map(({ frames }) => frames / (lastsS || 1));
  const slowest = rates.length ? Math.min(...rates) : Infinity;
  return Math.max(1, Math.floor(Math.min(width, Math.max(40, (spanS * slowest) / FRAMES_A_COLUMN))));
}

const hasFd = (survey: ReturnType<typeof useSurvey>['value'], bus: string): boolean =>
  survey?.frames.some((frame) => frame.bus === bus && frame.fd) ?? false;

interface LoadRowProps {
  readonly bus: LoadPicture['buses'][number];
  readonly drawn: LoadPicture['window'];
  readonly survey: SurveyBus | undefined;
  readonly fd: boolean;
}

function LoadRow({ bus, drawn, survey, fd }: LoadRowProps): ReactNode {
  const window = useView((view) => view.window);
  const peak = bus.values.reduce((most, v) => (v > most ? v : most), 0);
  const most = axisMost(survey?.peakLoad && bus.measure === 'load' ? survey.peakLoad : peak, bus.measure);
  const scene = useMemo(
    () => loadScene(bus, drawn, { most, gaps: survey?.gaps ?? [] }, window),
    [bus, drawn, most, survey, window],
  );
  const words = loadWords(survey, bus.measure);
  const half = bus.measure === 'load' ? percent(most / 2) : `${count(most / 2)}/s`;
  return (
    <Row
      className="load-row"
      label={
        <div className="load-label">
          <div className="line-of" style={{ gap: 6, flexWrap: 'nowrap' }}>
            <b>{bus.name}</b>
            <BitRateField bus={bus.name} fd={fd} />
          </div>
          <p className="tiny dim">{words}</p>
          <span className="axis" style={{ top: LOAD_HEIGHT / 2 - 8 }}>
            {half}
          </span>
          <span className="axis" style={{ top: LOAD_HEIGHT - 16 }}>
            0
          </span>
        </div>
      }
    >
      <Picture label={`Load of ${bus.name} over time: ${words}`} height={LOAD_HEIGHT} scene={scene} />
    </Row>
  );
}

function loadWords(survey: SurveyBus | undefined, measure: 'load' | 'frames-per-second'): string {
  if (!survey) return '';
  if (measure === 'load' && survey.load !== null && survey.peakLoad !== null)
    return `mean ${percent(survey.load)}, peak ${percent(survey.peakLoad)}`;
  return 'give the bit rate for load';
}
