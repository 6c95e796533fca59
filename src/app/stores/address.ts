/** The shareable part of the view in the address: "#payloads?capture=c1&from=38&to=168&at=107.62&id=can0/0x1F4". */
import type { StreamKey } from '../../frames/table.ts';
import { streamName } from '../../frames/table.ts';
import type { PlaceName } from '../places/place.ts';
import { isWhole, lookedAtInProof, PROOF_QUESTIONS, useView, type ProofQuestion, type ViewState } from './view.ts';

const places: readonly string[] = ['captures', 'marks', 'senders', 'payloads', 'signals', 'proof', 'handover'];

export function parseStreamName(text: string): StreamKey | null {
  const parts = /^(.+)\/0x([0-9A-Fa-f]{1,8})(x?)(\/sent)?$/.exec(text);
  if (!parts) return null;
  const [, bus, id, extended, sent] = parts;
  return {
    bus: bus as string,
    id: parseInt(id as string, 16),
    extended: extended === 'x',
    direction: sent ? 'sent' : 'received',
  };
}

export function printAddress(view: ViewState): string {
  const part = new URLSearchParams();
  if (view.captureId) part.set('capture', view.captureId);
  if (view.place === 'proof' && view.against) part.set('against', view.against);
  if (view.place === 'proof' && view.proofAsks !== 'holds') part.set('asks', view.proofAsks);
  if (!isWhole(view)) {
    part.set('from', view.window.fromS.toFixed(3));
    part.set('to', view.window.toS.toFixed(3));
  }
  if (view.cursorS !== null) part.set('at', view.cursorS.toFixed(3));
  if (view.selection.stream) part.set('id', streamName(view.selection.stream));
  const rest = part.toString().replaceAll('%2F', '/');
  return `#${view.place}${rest ? `?${rest}` : ''}`;
}

export interface Address {
  readonly place: PlaceName | null;
  readonly captureId: string | null;
  /** In Proof: what the map is held against, and which question is open. */
  readonly against: string | null;
  readonly proofAsks: ProofQuestion;
  readonly fromS: number | null;
  readonly toS: number | null;
  readonly atS: number | null;
  readonly stream: StreamKey | null;
}

export function parseAddress(hash: string): Address {
  const [place = '', rest = ''] = hash.replace(/^#/, '').split('?');
  const part = new URLSearchParams(rest);
  const number = (name: string): number | null => {
    const text = part.get(name);
    const found = text === null || text === '' ? NaN : Number(text);
    return Number.isFinite(found) ? found : null;
  };
  return {
    place: places.includes(place) ? (place as PlaceName) : null,
    captureId: part.get('capture'),
    against: part.get('against'),
    proofAsks: PROOF_QUESTIONS.find((question) => question === part.get('asks')) ?? 'holds',
    fromS: number('from'),
    toS: number('to'),
    atS: number('at'),
    stream: parseStreamName(part.get('id') ?? ''),
  };
}

/** Takes from the address what can be shown now; the span waits until its capture has been read. */
function applyAddress(address: Address): void {
  const view = useView.getState();
  if (address.place) view.go(address.place);
  if (address.captureId) view.openCapture(address.captureId);
  if (address.place === 'proof') view.askProof(address.proofAsks);
  if (address.against) view.holdAgainst(address.against);
  if (address.stream) view.select({ stream: address.stream });
  pending = address.fromS === null && address.atS === null ? null : address;
}
let pending: Address | null = null;

/** Called when the length of the capture in view is known: the span and cursor of the address can be set. */
export function applyPendingSpan(shownId: string | null): void {
  const address = pending;
  if (!address) return;
  const ofOther = address.place === 'proof' ? lookedAtInProof(address) : null;
  const spansId = ofOther ?? address.captureId;
  if (ofOther && ofOther !== shownId) return;
  pending = null;
  const view = useView.getState();
  if (spansId && spansId !== shownId) return;
  if (address.fromS !== null && address.toS !== null) view.setWindow(address.fromS, address.toS);
  if (address.atS !== null) view.setCursor(address.atS);
}

const shownCapture = (view: ViewState): string | null =>
  (view.place === 'proof' ? lookedAtInProof(view) : null) ?? view.captureId;

export function followAddress(): void {
  applyAddress(parseAddress(location.hash));
  addEventListener('hashchange', () => {
    if (location.hash !== printAddress(useView.getState())) {
      applyAddress(parseAddress(location.hash));
      applyPendingSpan(shownCapture(useView.getState()));
    }
  });
  let shown = useView.getState().place;
  let timer = 0;
  useView.subscribe((view) => {
    if (pending) return;
    clearTimeout(timer);
    if (view.place !== shown) {
      shown = view.place;
      history.pushState(null, '', printAddress(view));
    } else timer = window.setTimeout(() => history.replaceState(null, '', printAddress(useView.getState())), 250);
  });
}
