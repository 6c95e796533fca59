/** What generated code must not send by accident: a torque that was decoded while driving, a page's bits read as another's, a struct that nobody began. */
import { beforeAll, describe, expect, it } from 'vitest';
import { generateC } from '../../../src/handover/c/source.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';
import { printed } from './held.ts';

beforeAll(requireGcc);

const byte = (index: number) => ({ lsb: { byte: index, bit: 0 }, length: 8 });
const range = { min: 0, max: 255 };
const torque = aSignal({ name: 'torque', ...byte(0), unit: 'Nm', observed: range });
const limit = aSignal({ name: 'limit', ...byte(1), observed: range });
const rest = { payload: '7F 10 00 00', capture: 'c1', fromS: 0, toS: 1 };
const demand = aFrame({ name: 'demand', length: 4, signals: [torque, limit], rest });

function sent(frame: MapFrame, body: string, release: string[] = []): string {
  const start = `sm_demand s; uint8_t out[4] = {0}; int status; unsigned i;`;
  const end = `status = (int)sm_demand_encode(&s, out); printf("%d %u ", status, (unsigned)s.failed); for (i = 0; i < 4u; i++) printf("%02X", out[i]);`;
  return printed(generateC(aMap([frame]), { cautions: [], release }), `${start} ${body} ${end}`);
}

const DRIVING = 'const uint8_t driving[4] = {0xC0, 0x20, 0x00, 0x00};';
const NOT_RELEASED = 8;
const OTHER_PAGE = 9;
const NOT_BEGUN = 10;

describe('what was decoded while driving', () => {
  const decoded = `${DRIVING} (void)sm_demand_decode(&s, driving, 4u);`;

  it('is not sent again where it may move the machine', () => {
    expect(sent(demand, decoded)).toBe(`${NOT_RELEASED} 1 00000000`);
  });

  it('is sent where the signal was released by name, or is as it was at rest', () => {
    expect(sent(demand, decoded, ['demand.torque'])).toBe('0 0 C0200000');
    expect(sent(demand, decoded.replace('0xC0', '0x7F'))).toBe('0 0 7F200000');
  });

  it('is not sent where a release could not let the signal be set', () => {
    const doubted = { ...demand, signals: [{ ...torque, observed: null }, limit] };
    expect(sent(doubted, decoded, ['demand.torque'])).toBe(`${NOT_RELEASED} 1 00000000`);
  });

  it('is not set by another signal that shares its bits', () => {
    const both = { ...demand, signals: [torque, limit, aSignal({ name: 'mirror', ...byte(0), observed: range })] };
    expect(sent(both, 'sm_demand_init(&s); s.mirror = 200;')).toBe(`${NOT_RELEASED} 1 00000000`);
  });

  it('is forgotten when the frame falls silent: then the payload is the one at rest', () => {
    const late = {
      ...demand,
      signals: [limit],
      timing: { kind: 'periodic' as const, periodMs: 10, jitterMs: 0.1, timeoutMs: 50 },
    };
    const heard = `sm_demand_heard h; ${DRIVING} sm_demand_listen(&h); (void)sm_demand_receive(&h, driving, 4u, 0u);`;
    expect(sent(late, `${heard} s = h.values;`)).toBe('0 0 C0200000');
    expect(sent(late, `${heard} sm_demand_expire(&h, 2000000u); s = h.values;`)).toBe('0 0 7F100000');
  });
});

describe('a page chosen by hand', () => {
  const when = (value: number) => ({ page: [value] });
  const paged: MapFrame = {
    ...demand,
    rest: { ...rest, payload: '7F 10 00 00' },
    selectors: [aSelector({ name: 'page', ...byte(3) })],
    signals: [
      { ...limit, when: when(0) },
      { ...limit, name: 'current', when: when(1), lsb: { byte: 0, bit: 0 } },
      { ...limit, name: 'voltage', when: when(1) },
      { ...torque, when: when(2) },
    ],
  };

  it('is sent only with all of its signals set', () => {
    expect(sent(paged, 'sm_demand_init(&s);')).toBe('0 0 7F100000');
    const one = 'sm_demand_init(&s); s.page = 1u; s.current = 5; s.current_valid = SM_VALID;';
    expect(sent(paged, one)).toBe(`${OTHER_PAGE} 3 00000000`);
    expect(sent(paged, `${one} s.voltage = 6; s.voltage_valid = SM_VALID;`)).toBe('0 0 05060001');
  });

  it('is not sent with what may move the machine, which was never seen at rest there', () => {
    const set = 'sm_demand_init(&s); s.page = 2u; s.torque = 127; s.torque_valid = SM_VALID;';
    expect(sent(paged, set)).toMatch(/^(8|9) 4 00000000$/);
    expect(sent(paged, set, ['demand.torque'])).toBe('0 0 7F100002');
    const decoded = `const uint8_t p[4] = {0x7F, 0x10, 0x00, 0x02}; (void)sm_demand_decode(&s, p, 4u);`;
    expect(sent(paged, decoded)).toBe(`${NOT_RELEASED} 4 00000000`);
  });

  it('is not sent where the map knows no signal of it', () => {
    expect(sent(paged, 'sm_demand_init(&s); s.page = 9u;')).toBe(`${OTHER_PAGE} 0 00000000`);
  });
});

it('refuses a struct that was neither begun nor decoded into: zero can be full reverse torque', () => {
  expect(sent(demand, 'memset(&s, 0, sizeof s);')).toBe(`${NOT_BEGUN} 0 00000000`);
  expect(sent(demand, 'memset(&s, 0xFF, sizeof s);')).toBe(`${NOT_BEGUN} 0 00000000`);
});

it.each(['0.0 / zero', '1.0 / zero', '-1.0 / zero', '255.6', '-0.6'])('refuses %s, released or not', (value) => {
  const set = `double zero = 0.0; sm_demand_init(&s); s.torque = ${value};`;
  expect(sent(demand, set, ['demand.torque'])).toBe('4 1 00000000');
});
