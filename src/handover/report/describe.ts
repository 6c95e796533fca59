/** Parts of a map in words and figures, shared by the plan and the report. */
import type { Placement } from '../../frames/bits.ts';
import type { MapChecksum, MapCounter, MapFrame, MapSignal, When } from '../../map/schema.ts';

export function describePlace(placement: Placement): string {
  const piece = ({ lsb, length, order }: Placement): string =>
    `byte ${lsb.byte} bit ${lsb.bit}, ${length} ${length === 1 ? 'bit' : 'bits'}${lsb.bit + length > 8 ? `, ${order}` : ''}`;
  return [placement, ...(placement.continues ?? [])].map(piece).join(' + ');
}

export function describeWhen(when: When | undefined): string {
  return Object.entries(when ?? {})
    .map(([name, values]) => `${name} = ${values.join(' or ')}`)
    .join(' and ');
}

/** Digits that a person reads; the map has the rest. */
const short = (value: number, digits: number): string => String(Number(value.toPrecision(digits)));

export function describeTiming({ timing }: MapFrame): string {
  const { kind, periodMs, jitterMs, replyTo, delayMs } = timing;
  const parts = [
    periodMs !== null ? `${kind}, every ${short(periodMs, 4)} ms` : kind,
    jitterMs !== null && jitterMs !== undefined && periodMs !== null && `spread ${short(jitterMs, 2)} ms`,
    replyTo && `to ${replyTo}`,
    delayMs !== undefined && `after ${delayMs} ms`,
  ];
  return parts.filter(Boolean).join(', ');
}

export function describeCounter(counter: MapCounter): string {
  const { name, min, max, step, every } = counter;
  const pace = every === 1 ? 'every frame' : `every ${every} frames`;
  return `${name}: ${min} to ${max}, ${step > 0 ? '+' : ''}${step} ${pace}, at ${describePlace(counter)}`;
}

export function describeChecksum(checksum: MapChecksum): string {
  const { method, width, poly, init, xorout, refin, refout, unit, carry } = checksum;
  const parameters = [
    width && `width ${width}`,
    poly && `poly ${poly}`,
    init && `init ${init}`,
    refin && 'reflected in',
    refout && 'reflected out',
    xorout && `xorout ${xorout}`,
    unit && `unit ${unit}`,
    carry && `carry ${carry}`,
  ].filter(Boolean);
  return `${method}${parameters.length > 0 ? ` (${parameters.join(', ')})` : ''} at ${describePlace(checksum)}`;
}

export function describeScale({ scale, offset, table, coding }: MapSignal): string {
  if (coding === 'text') return 'text';
  if (table && table.length > 0) return `${coding}, table of ${table.length} points`;
  const sum = offset === 0 ? '' : ` ${offset < 0 ? '-' : '+'} ${Math.abs(offset)}`;
  return `${coding}, raw x ${scale}${sum}`;
}
