/** The bit layout of a frame as an HTML table: a row a byte, bit 7 on the left, each field a tint and a number. */
import { bitPositions } from '../../frames/bits.ts';
import type { MapFrame } from '../../map/schema.ts';
import { htmlText } from './markup-text.ts';

interface Owner {
  readonly label: string;
  readonly tint: 'signal' | 'guard' | 'select';
  readonly positions: ReadonlySet<number>;
}

function ownersOf(frame: MapFrame): Owner[] {
  const of = (tint: Owner['tint'], label: string, placement: Parameters<typeof bitPositions>[0]): Owner => ({
    label,
    tint,
    positions: new Set(bitPositions(placement)),
  });
  return [
    ...frame.signals.map((signal) => of('signal', signal.name, signal)),
    ...frame.counters.map((counter) => of('guard', `counter ${counter.name}`, counter)),
    ...frame.checksums.map((checksum) => of('guard', `checksum ${checksum.method}`, checksum)),
    ...frame.selectors.map((selector) => of('select', `selector ${selector.name}`, selector)),
  ];
}

export function bitLayoutHtml(frame: MapFrame): string {
  const owners = ownersOf(frame);
  const cell = (position: number): string => {
    const found = [...owners.entries()].filter(([, owner]) => owner.positions.has(position));
    if (found.length === 0) return '<td></td>';
    const names = found.map(([, { label }]) => label).join(' / ');
    const numbers = found.map(([index]) => index + 1).join('/');
    return `<td class="${found[0]?.[1].tint ?? ''}" title="${htmlText(names)}">${numbers}</td>`;
  };
  const row = (byte: number): string =>
    `<tr><th>${byte}</th>${[7, 6, 5, 4, 3, 2, 1, 0].map((bit) => cell(byte * 8 + bit)).join('')}</tr>`;
  const rows = Array.from({ length: frame.length }, (_, byte) => row(byte)).join('');
  const legend = owners.map(({ label, tint }) => `<li><span class="${tint}">${htmlText(label)}</span></li>`).join('');
  const head = `<tr><th>byte</th>${[7, 6, 5, 4, 3, 2, 1, 0].map((bit) => `<th>${bit}</th>`).join('')}</tr>`;
  return `<div class="layout"><table class="bits"><thead>${head}</thead><tbody>${rows}</tbody></table><ol>${legend}</ol></div>`;
}
