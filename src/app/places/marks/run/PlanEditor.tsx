/** What the run card will ask for: rows that can be changed, added and taken out before it starts. */
import { useMemo, type ReactNode } from 'react';
import { useDossier } from '../../../stores/dossier.ts';
import { duration, plural } from '../../../../kit/sheet-figures.ts';
import { useMarksPlace } from '../store.ts';
import { planOf, USUAL_PLAN, withPlan, type RunStep } from './plan.ts';

const MEAN_REST_S = 6.5;
const REACTION_S = 2;

const lasts = (plan: readonly RunStep[]): number =>
  plan.reduce((sum, { holdS, times }) => sum + times * (holdS + MEAN_REST_S + REACTION_S), 0);

const setPlan = (plan: readonly RunStep[], strand?: string): void =>
  useDossier.getState().change('edit run card', (dossier) => withPlan(dossier, plan), strand);

export function PlanEditor({ sound, onSound }: { sound: boolean; onSound: (on: boolean) => void }): ReactNode {
  const dossier = useDossier((state) => state.dossier);
  const plan = useMemo(() => planOf(dossier), [dossier]);
  const { setRunCard } = useMarksPlace.getState();
  return (
    <section className="run-card" aria-label="Run card">
      <h3>
        Run card{' '}
        <small>
          {plural(plan.length, 'step')}, about {duration(lasts(plan))}
        </small>
      </h3>
      <p className="small dim">
        It asks for one action after another, counts down, and writes the marks. Start the logger first.
      </p>
      <p className="small caution-line">
        Only where the vehicle cannot set off: wheels blocked or off the ground, nobody in front or behind, an emergency
        stop in reach. On a road the driver drives and someone else holds the card.
      </p>
      <ol className="plan">
        {plan.map((step, index) => (
          <PlanRow key={index} step={step} index={index} plan={plan} />
        ))}
      </ol>
      <div className="line-of">
        <button
          type="button"
          className="button"
          onClick={() => setPlan([...plan, { action: 'new action', says: 'Do it', holdS: 3, times: 6 }])}
        >
          Add a step
        </button>
        <button type="button" className="button" onClick={() => setPlan(USUAL_PLAN)}>
          The usual five
        </button>
      </div>
      <label className="line-of" style={{ marginTop: 12 }}>
        <input type="checkbox" checked={sound} onChange={(event) => onSound(event.target.checked)} /> Sound for cues and
        the last three seconds
      </label>
      <div className="line-of start-bar">
        <button type="button" className="button go start-run" onClick={() => setRunCard('running')}>
          Start the run
        </button>
        <button type="button" className="button" onClick={() => setRunCard('off')}>
          Close
        </button>
      </div>
    </section>
  );
}

function PlanRow({ step, index, plan }: { step: RunStep; index: number; plan: readonly RunStep[] }): ReactNode {
  const set = (part: Partial<RunStep>): void =>
    setPlan(
      plan.map((other, i) => (i === index ? { ...other, ...part } : other)),
      `plan-${index}-${Object.keys(part).join()}`,
    );
  const number = (text: string, least: number, most: number): number =>
    Math.min(most, Math.max(least, Math.round(Number(text) || 0)));
  return (
    <li>
      <input
        className="field says"
        aria-label={`Step ${index + 1}: what to say`}
        value={step.says}
        onChange={(event) => set({ says: event.target.value })}
      />
      <input
        className="field"
        aria-label={`Step ${index + 1}: action of its marks`}
        placeholder="no mark"
        value={step.action}
        onChange={(event) => set({ action: event.target.value })}
      />
      <label className="small dim">
        <input
          className="field"
          type="number"
          min={0}
          max={600}
          aria-label={`Step ${index + 1}: seconds to hold`}
          value={step.holdS}
          onChange={(event) => set({ holdS: number(event.target.value, 0, 600) })}
        />{' '}
        s
      </label>
      <label className="small dim">
        <input
          className="field"
          type="number"
          min={1}
          max={50}
          aria-label={`Step ${index + 1}: times`}
          value={step.times}
          onChange={(event) => set({ times: number(event.target.value, 1, 50) })}
        />{' '}
        times
      </label>
      <button
        type="button"
        className="take-out"
        aria-label={`Take out step ${index + 1}`}
        disabled={plan.length === 1}
        onClick={() => setPlan(plan.filter((_, i) => i !== index))}
      >
        ×
      </button>
    </li>
  );
}
