/** Which captures the plan asks, and what it has been told so far. */
import { beforeEach, describe, expect, it, vi } from 'vitest';
import { askNext, questionOf, sourcesOf, toldBy } from '../../src/app/places/handover/plan/sources.ts';
import type { OpenCapture } from '../../src/app/stores/captures.ts';
import { newCapture } from '../../src/app/stores/dossier.ts';
import { useFindings, type Slot } from '../../src/app/stores/findings.ts';
import type { Engine } from '../../src/jobs/engine-types.ts';
import { aFrame, aMap } from '../support/map-parts.ts';

// What the build puts in.
vi.stubGlobal('FINDERS', 'test');
vi.mock('../../src/app/stores/storage.ts', () => ({
  keptFinding: () => Promise.resolve(undefined),
  keepFinding: () => Promise.resolve(),
  keptDossier: () => Promise.resolve(undefined),
  keepDossier: () => Promise.resolve(),
}));

const SURVEY = { frames: [], modes: [] };
const OBSERVED = { capture: 'c1', wakings: [], frames: [] };

function engineThat(observe: () => Promise<unknown>) {
  const survey = vi.fn(() => Promise.resolve(SURVEY));
  const analyse = vi.fn(observe);
  return { engine: { survey, analyse } as unknown as Engine, survey, analyse };
}

const QUESTION = questionOf(aMap([aFrame({ bus: 'can0', id: '0x100' }), aFrame({ bus: 'can1', id: '0x200' })]));

const opened = (id: string, engine: Engine | null, phase: OpenCapture['phase'] = 'ready'): OpenCapture =>
  ({ id, phase, engine, summary: { digest: `digest of ${id}` } }) as unknown as OpenCapture;

const slots = (): Readonly<Record<string, Slot>> => useFindings.getState().slots;
const settled = async (): Promise<void> => {
  await vi.waitFor(() => expect(Object.values(slots()).every(({ state }) => state !== 'running')).toBe(true));
};

beforeEach(() => useFindings.setState({ slots: {} }));

describe('captures that the plan asks', () => {
  it('are those that have been read, the open one first', () => {
    const { engine } = engineThat(() => Promise.resolve(OBSERVED));
    const captures = ['c1', 'c2', 'c3'].map((id) => newCapture(id, id, ''));
    const open = [opened('c1', engine), opened('c2', engine), opened('c3', null, 'reading')];
    expect(sourcesOf(captures, open, 'c2').map(({ entry }) => entry.id)).toEqual(['c2', 'c1']);
  });

  it('are asked for their survey, then who is needed, each once', async () => {
    const { engine, survey, analyse } = engineThat(() => Promise.resolve(OBSERVED));
    const [source] = sourcesOf([newCapture('c1', 'first', '')], [opened('c1', engine)], 'c1');
    if (!source) throw new Error('no source');
    expect(toldBy(source, {}, QUESTION, slots())).toBe('open');
    askNext(source, {}, QUESTION, slots());
    askNext(source, {}, QUESTION, slots());
    await settled();
    expect(toldBy(source, {}, QUESTION, slots())).toBe('open');
    askNext(source, {}, QUESTION, slots());
    await settled();
    expect(toldBy(source, {}, QUESTION, slots())).toBe(OBSERVED);
    askNext(source, {}, QUESTION, slots());
    expect([survey.mock.calls.length, analyse.mock.calls.length]).toEqual([1, 1]);
  });

  it('that could not answer keep nobody waiting', async () => {
    const { engine } = engineThat(() => Promise.reject(new Error('no frames')));
    const [source] = sourcesOf([newCapture('c1', 'first', '')], [opened('c1', engine)], 'c1');
    if (!source) throw new Error('no source');
    askNext(source, {}, QUESTION, slots());
    await settled();
    askNext(source, {}, QUESTION, slots());
    await settled();
    expect(toldBy(source, {}, QUESTION, slots())).toBe('nothing');
  });

  it('are asked under their own names of the buses', async () => {
    const { engine, survey, analyse } = engineThat(() => Promise.resolve(OBSERVED));
    const frame = { extended: false, direction: 'received' };
    const frames = [
      { ...frame, bus: 'left', id: '0x200' },
      { ...frame, bus: 'right', id: '0x100' },
    ];
    survey.mockImplementation(() => Promise.resolve({ ...SURVEY, frames } as unknown as typeof SURVEY));
    const [source] = sourcesOf([newCapture('c1', 'first', '')], [opened('c1', engine)], 'c1');
    if (!source) throw new Error('no source');
    askNext(source, {}, QUESTION, slots());
    await settled();
    askNext(source, {}, QUESTION, slots());
    await settled();
    const [request] = analyse.mock.calls[0] as unknown as [{ busMap: unknown }];
    expect(request.busMap).toEqual({ can0: 'right', can1: 'left' });
  });
});
