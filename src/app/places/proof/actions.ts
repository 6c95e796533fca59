/** What keys and buttons of Proof do; they read the stores when pressed. */
import { describeProblem } from '../../../kit/outcome.ts';
import { parseMap } from '../../../map/parse.ts';
import { pickFiles } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { useView } from '../../stores/view.ts';
import { FILTERS } from './rows.ts';
import { useProof, type OpenedMap } from './store.ts';

const LETTING_GO = { frame: null, item: null, open: false } as const;

export function hold(id: string | null): void {
  useProof.getState().set({ ...LETTING_GO, choosing: false });
  useView.getState().holdAgainst(id);
}

/** null: no file was picked, or it holds no map, which has been said. */
async function pickMap(): Promise<OpenedMap | null> {
  const [file] = await pickFiles('.json', false);
  if (!file) return null;
  const parsed = parseMap(await file.text(), file.name);
  if (parsed.ok) return { name: file.name, map: parsed.value };
  say(parsed.problems.slice(0, 2).map(describeProblem).join(' '));
  return null;
}

export async function openMap(): Promise<void> {
  const opened = await pickMap();
  if (!opened) return;
  hold(null);
  useProof.getState().set({ opened });
}

/** Another person's map of the same part, to see what it says otherwise. */
export async function openOther(): Promise<void> {
  const other = await pickMap();
  if (other) useProof.getState().set({ other, choices: {}, conflict: null });
}

/** Back to the map of the open capture. */
export function closeMap(): void {
  hold(null);
  useProof.getState().set({ opened: null });
}

export function nextFilter(): void {
  const { filter, set } = useProof.getState();
  set({ filter: FILTERS[(FILTERS.indexOf(filter) + 1) % FILTERS.length] ?? 'all' });
}

/** What is held, in Payloads: the capture that it was held against becomes the open one there, at the same instant. */
export function seeInPayloads(): void {
  const view = useView.getState();
  const { against, cursorS, window, domain } = view;
  if (against === null) return;
  view.openCapture(against);
  view.lookAt(against);
  view.setDomain(domain.fromS, domain.toS);
  view.setWindow(window.fromS, window.toS);
  view.setCursor(cursorS);
  view.go('payloads');
}
