/** Marks, the picture side: the witness, a track an action, and under them whose clock the marks were taken by. */
import { useMemo, type ReactNode } from 'react';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import type { Story } from '../../pictures/story-model.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { useRulerMarks, type RulerMarks } from '../../stores/asking.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { addAction } from '../../stores/marks-edits.ts';
import { useView } from '../../stores/view.ts';
import { ModesRow } from '../../modes/ModesRow.tsx';
import { ActionButtons } from './ActionButtons.tsx';
import { Below } from './Below.tsx';
import { actionToMark, exportFile, importFile, markNow, removeSelected } from './commands.ts';
import { ACTION_KEYS } from './keys.ts';
import './marks.css';
import { goToRepetition } from './story/commands.ts';
import { useStory } from './story/use-story.ts';
import { useMarksPlace } from './store.ts';
import { Tracks } from './Tracks.tsx';
import { WitnessRow } from './Witness.tsx';

export function MarksPlace(): ReactNode {
  const ruler = useRulerMarks();
  const { story } = useStory();
  useMarksKeys(ruler, story);
  return (
    <>
      <TimeSheet className="marks-sheet">
        <ModesRow />
        <WitnessRow />
        {ruler.actions.length > 0 ? <Tracks /> : <NoActions />}
      </TimeSheet>
      <ActionButtons ruler={ruler} />
      <Below />
    </>
  );
}

const USUAL_ACTIONS = ['accelerator pressed', 'brake pressed', 'selector moved', 'key turned'];

function begin(action: string): void {
  addAction(action);
  useView.getState().select({ action, mark: null });
}

function NoActions(): ReactNode {
  const recorded = useCurrentCapture()?.open.phase === 'ready';
  return (
    <Row label={<span className="tiny dimmer">actions</span>}>
      <div className="need">
        <p className="lead">
          {recorded
            ? 'No marks yet: you can still look at payloads. Put the cursor where something was done and press M.'
            : 'No recording is open: marks are stamped by this machine’s clock and wait for their recording.'}
        </p>
        <p className="line-of">
          <button
            type="button"
            className={recorded ? 'button' : 'button go'}
            onClick={() => useMarksPlace.getState().setRunCard('plan')}
          >
            Open the run card <kbd>C</kbd>
          </button>
          <button type="button" className="button" onClick={() => void importFile()}>
            Import marks
          </button>
        </p>
        <p className="line-of small dim">
          Begin with
          {USUAL_ACTIONS.map((action) => (
            <button key={action} type="button" className="button" onClick={() => begin(action)}>
              {action}
            </button>
          ))}
        </p>
        <p className="small dim">
          Six repetitions of an action, with pauses of different length, are usually enough to see which fields answer.
        </p>
      </div>
    </Row>
  );
}

function nextRepetition({ n }: Story, by: 1 | -1): number {
  const { repetition } = useMarksPlace.getState();
  return repetition === null ? (by > 0 ? 0 : n - 1) : repetition + by;
}

function useMarksKeys(ruler: RulerMarks, story: Story | null): void {
  const group = useMemo<KeyGroup>(
    () => ({
      title: 'Marks',
      bindings: [
        { key: 'm', says: 'mark the chosen action; again: its end', run: () => markNow(actionToMark(ruler), ruler) },
        ...ruler.actions.slice(0, ACTION_KEYS.length).map((action, index) => ({
          key: ACTION_KEYS[index] as string,
          says: `mark “${action}”; again: its end`,
          run: () => markNow(action, ruler),
        })),
        { key: 'Delete', says: 'delete the mark that is held', run: removeSelected },
        { key: 'n', says: 'new action', run: () => document.getElementById('new-action')?.focus() },
        { key: 'F2', says: 'rename the chosen action', run: () => document.getElementById('action-name')?.focus() },
        { key: 'k', says: 'whose clock', run: () => useMarksPlace.getState().set({ below: 'clock' }) },
        { key: 's', says: 'what follows, step by step', run: () => useMarksPlace.getState().set({ below: 'story' }) },
        {
          key: ',',
          says: 'the repetition before',
          run: () => story && goToRepetition(story, nextRepetition(story, -1)),
        },
        { key: '.', says: 'the next repetition', run: () => story && goToRepetition(story, nextRepetition(story, 1)) },
        { key: 'c', says: 'run card', run: () => useMarksPlace.getState().setRunCard('plan') },
        { key: 'Escape', says: 'let go of the mark', run: () => useView.getState().select({ mark: null }) },
      ],
    }),
    [ruler, story],
  );
  useKeys(group);
}

export function MarksControls(): ReactNode {
  const ruler = useRulerMarks();
  const undo = useDossier((state) => state.past.at(-1)?.label);
  return (
    <>
      <button type="button" className="button" onClick={() => markNow(actionToMark(ruler), ruler)}>
        Mark here <kbd>M</kbd>
      </button>
      <button
        type="button"
        className="button wide-only"
        disabled={!undo}
        title={undo ? `Undo: ${undo}` : undefined}
        onClick={() => useDossier.getState().undo()}
      >
        Undo <kbd>Ctrl Z</kbd>
      </button>
      <button type="button" className="button wide-only" onClick={() => void importFile()}>
        Import
      </button>
      <button type="button" className="button wide-only" onClick={exportFile}>
        Export
      </button>
    </>
  );
}
