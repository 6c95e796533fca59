/** Above the tracks the field that answers the chosen action best: a witness of when things really happened. */
import { useMemo, type ReactNode } from 'react';
import { CLAIM_Q } from '../../../actions/claims.ts';
import type { ActionLinks, Link, LinkReport } from '../../../actions/types.ts';
import type { StreamKey } from '../../../frames/table.ts';
import type { TracePicture, TraceRequest } from '../../../jobs/engine-types.ts';
import type { FrameFindings } from '../../../fields/types.ts';
import { displayId } from '../../../kit/units.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { WITNESS_HEIGHT, witnessScene } from '../../pictures/marks.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { useFields, useLinks, useRulerMarks } from '../../stores/asking.ts';
import { useReadyEngine } from '../../stores/finding.ts';
import { useQuestion } from '../../stores/questions.ts';
import { useView } from '../../stores/view.ts';
import { Picture } from '../../surface/Picture.tsx';
import { traceRequestOf } from '../payloads/trace-request.ts';

export interface WitnessField {
  readonly action: string;
  readonly link: Link;
  readonly request: TraceRequest;
}

/** The strongest sure link of the action, else of any action. */
function findWitness(
  links: LinkReport | null,
  findings: readonly FrameFindings[] | null,
  action: string | null,
): WitnessField | null {
  const reports = links?.actions ?? [];
  const isAnswered = ({ links: own }: ActionLinks): boolean => (own[0]?.q ?? 1) <= CLAIM_Q;
  const report = reports.find((other) => other.action === action && isAnswered(other)) ?? reports.find(isAnswered);
  const link = report?.links[0];
  const frame = findings?.find(
    (other) => link && other.bus === link.bus && other.id === link.id && other.extended === link.extended,
  );
  const field = frame?.fields.find(({ name }) => name === link?.field);
  if (!report || !link || !frame || !field) return null;
  const stream: StreamKey = {
    bus: frame.bus,
    id: Number(frame.id),
    extended: frame.extended,
    direction: frame.direction,
  };
  return { action: report.action, link, request: traceRequestOf(stream, field, frame) };
}

export function useWitness(): WitnessField | null {
  const links = useLinks().value;
  const findings = useFields().value;
  const action = useView((view) => view.selection.action);
  return useMemo(() => findWitness(links, findings, action), [links, findings, action]);
}

export function WitnessRow(): ReactNode {
  const ready = useReadyEngine();
  const witness = useWitness();
  const { marks } = useRulerMarks();
  const window = useView((view) => view.window);
  const timeWidth = useView((view) => view.timeWidth);
  const columns = Math.max(1, timeWidth);
  const key =
    ready && witness && timeWidth
      ? `${ready.identity}/witness/${JSON.stringify(witness.request)}/${window.fromS}/${window.toS}/${columns}`
      : null;
  const trace = useQuestion<TracePicture | null>(key, async () => {
    if (!ready || !witness) return null;
    return (await ready.engine.traces([witness.request], { ...window, columns }))[0] ?? null;
  }).value;
  const scene = useMemo(() => (trace ? witnessScene(trace, window) : () => undefined), [trace, window]);
  if (!ready || !marks.length) return null;
  const { link, action } = witness ?? {};
  return (
    <Row
      className="witness-row"
      label={
        <div className="tiny dim">
          <span className="dimmer" style={{ display: 'block' }}>
            witness
          </span>
          {link ? (
            <>
              <b className="small">
                <span className="mono">{displayId(Number(link.id), link.extended)}</span> {placeWords(link)}
              </b>
              answers {action}
            </>
          ) : (
            <i>none yet: no field answers surely</i>
          )}
        </div>
      }
    >
      <Picture
        label={link ? `The field that answers ${action}, over time` : 'No witness yet'}
        height={WITNESS_HEIGHT}
        scene={scene}
      />
    </Row>
  );
}
