/**
 * ISO 15765-2 (transport), ISO 14229-1 (services), SAE J1979 service 01 and SAE J1939-21 (long messages). Frames that carry a 17-character number
 * under identifier F190 are computed from the first two; live values from the formulas of SAE J1979. The number is invented.
 */
import { describe, expect, it } from 'vitest';
import { faultCodesOf } from '../../src/reference/diagnostics/fault-codes.ts';
import { findLongMessages } from '../../src/reference/diagnostics/long-messages.ts';
import { readingsOf } from '../../src/reference/diagnostics/readings.ts';
import { controlFrameOf } from '../../src/reference/diagnostics/transport.ts';
import { onlyConversation } from '../support/conversation.ts';
import { tableOfLines } from '../support/log-table.ts';

const bytesOf = (hex: string): Uint8Array => Uint8Array.from(hex.split(' '), (byte) => Number.parseInt(byte, 16));
const textOf = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);

describe('ISO 15765-2 and ISO 14229-1', () => {
  it('puts a 17-character number together from a first and two consecutive frames', async () => {
    const number = 'LOOMPOSTVAN000042';
    const hex = [...new TextEncoder().encode(number)].map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
    const [a, b, c] = [hex.slice(0, 8), hex.slice(9, 29), hex.slice(30)];
    const conversation = await onlyConversation([
      [0, '7E0', '03 22 F1 90 00 00 00 00'],
      [0.02, '7E8', `10 14 62 F1 90 ${a}`],
      [0.021, '7E0', '30 00 0A 00 00 00 00 00'],
      [0.03, '7E8', `21 ${b}`],
      [0.041, '7E8', `22 ${c}`],
    ]);
    expect(conversation.exchanges).toHaveLength(1);
    const [series] = readingsOf(conversation).series;
    expect(series).toMatchObject({ id: 0x7e8, service: 0x22, identifier: 0xf190 });
    expect(textOf(series?.readings[0]?.data as Uint8Array)).toBe(number);
    expect(conversation.answers[0]?.counts).toMatchObject({ first: 1, consecutive: 2, other: 0 });
    expect(conversation.requests[0]?.counts).toMatchObject({ single: 1, flowControl: 1 });
  });

  it('waits for the answer where code 78 says that it is pending, and knows other negative answers', async () => {
    const conversation = await onlyConversation([
      [0, '7E0', '03 22 12 34 00 00 00 00'],
      [0.01, '7E8', '03 7F 22 78 00 00 00 00'],
      [3.5, '7E8', '05 62 12 34 01 02 00 00'],
      [5, '7E0', '03 22 99 99 00 00 00 00'],
      [5.01, '7E8', '03 7F 22 31 00 00 00 00'],
    ]);
    expect(conversation.exchanges.map(({ kind, pending, negativeCode }) => [kind, pending, negativeCode])).toEqual([
      ['positive', 1, null],
      ['negative', 0, 0x31],
    ]);
  });

  it.each([
    ['single of CAN FD: 00, then the length', '00 3C 62', 62, { kind: 'single', length: 60, from: 2 }],
    [
      'first with a length of 32 bits: 10 00, then it',
      '10 00 00 00 12 34 62 F1',
      8,
      { kind: 'first', length: 0x1234, from: 6 },
    ],
    ['consecutive', '2F 01 02 03 04 05 06 07', 8, { kind: 'consecutive', number: 15, from: 1 }],
    ['flow control', '30 00 0A', 8, { kind: 'flow-control' }],
  ] as const)('%s', (_title, head, length, expected) => {
    const frame = new Uint8Array(length);
    frame.set(bytesOf(head));
    expect(controlFrameOf(frame, 0)).toEqual(expected);
  });

  it.each([
    ['a single frame that announces more than it holds', '07 01 02 03', 0],
    ['a length of 0', '00 01 02 03 04 05 06 07', 0],
    ['a first frame whose message would fit one frame', '10 05 01 02 03 04 05 06', 0],
    ['a flow status of 3 and more', '33 00 00 00 00 00 00 00', 0],
    ['a control byte of 4 and more', '41 00 00 00 00 00 00 00', 0],
  ] as const)('is no transport frame: %s', (_title, hex, at) => {
    expect(controlFrameOf(bytesOf(hex), at)).toBeNull();
  });

  it('lists fault codes with their status and tells lost communication (SAE J2012 spelling, from memory)', () => {
    // 59 02 FF, then U0100-87 confirmed and failing, P0A1F with status 08.
    const codes = faultCodesOf(bytesOf('59 02 FF C1 00 87 09 0A 1F 00 08'));
    expect(codes).toEqual([
      { code: 'U0100-87', status: 9, isFailing: true, isConfirmed: true, isLostCommunication: true },
      { code: 'P0A1F', status: 8, isFailing: false, isConfirmed: true, isLostCommunication: false },
    ]);
  });
});

describe('SAE J1979 service 01', () => {
  it.each([
    ['0C', '04 41 0C 1A F8 00 00 00', 1726, 'rpm'],
    ['0D', '03 41 0D 32 00 00 00 00', 50, 'km/h'],
    ['05', '03 41 05 7B 00 00 00 00', 83, 'degC'],
    ['11', '03 41 11 80 00 00 00 00', 50.196, '%'],
    ['42', '04 41 42 36 B0 00 00 00', 14, 'V'],
    ['5B', '03 41 5B CC 00 00 00 00', 80, '%'],
    ['49', '03 41 49 26 00 00 00 00', 14.902, '%'],
  ])('reads parameter %s with its unit', async (pid, answer, expected, unit) => {
    const conversation = await onlyConversation([
      [0, '7DF', `02 01 ${pid} 00 00 00 00 00`],
      [0.01, '7E8', answer],
    ]);
    const [series] = readingsOf(conversation).series;
    expect(series?.value[0]).toBeCloseTo(expected, 2);
    expect(series?.unit).toBe(unit);
  });

  it('takes an answer to several parameters apart', async () => {
    const conversation = await onlyConversation([
      [0, '18DB33F1', '03 01 0C 0D 00 00 00 00'],
      [0.01, '18DAF110', '06 41 0C 1A F8 0D 32 00'],
    ]);
    expect(readingsOf(conversation).series.map(({ identifier, value }) => [identifier, ...value])).toEqual([
      [0x0c, 1726],
      [0x0d, 50],
    ]);
  });
});

describe('SAE J1939-21 long messages (frame layout from memory)', () => {
  it('puts together what is announced to all', async () => {
    const { messages, counts } = findLongMessages(
      await tableOfLines([
        [0, '1CECFF10', '20 0A 00 02 FF EC FE 00'],
        [0.05, '1CEBFF10', '01 11 12 13 14 15 16 17'],
        [0.1, '1CEBFF10', '02 18 19 1A FF FF FF FF'],
      ]),
    );
    expect(messages).toHaveLength(1);
    expect(messages[0]).toMatchObject({ pgn: 0xfeec, source: 0x10, destination: null });
    expect([...(messages[0]?.payload ?? [])]).toEqual([...bytesOf('11 12 13 14 15 16 17 18 19 1A')]);
    expect(counts).toMatchObject({ announced: 1, data: 2, broken: 0, stray: 0 });
  });

  it('gives up a message whose next frame does not come within 1.25 s (T2, T3)', async () => {
    const { messages, counts } = findLongMessages(
      await tableOfLines([
        [0, '1CECFF10', '20 0A 00 02 FF EC FE 00'],
        [0.05, '1CEBFF10', '01 11 12 13 14 15 16 17'],
        [1.4, '1CEBFF10', '02 18 19 1A FF FF FF FF'],
      ]),
    );
    expect(messages).toEqual([]);
    expect(counts).toMatchObject({ announced: 1, data: 1, broken: 1, stray: 1 });
  });

  it('puts together what goes over a connection, a frame sent twice included', async () => {
    const { messages, counts } = findLongMessages(
      await tableOfLines([
        [0, '1CEC2010', '10 0A 00 02 02 CA FE 00'],
        [0.01, '1CEC1020', '11 02 01 FF FF CA FE 00'],
        [0.02, '1CEB2010', '01 21 22 23 24 25 26 27'],
        [0.03, '1CEB2010', '01 21 22 23 24 25 26 27'],
        [0.04, '1CEB2010', '02 28 29 2A FF FF FF FF'],
        [0.05, '1CEC1020', '13 0A 00 02 FF CA FE 00'],
        [0.06, '1CEB2010', '03 00 00 00 00 00 00 00'],
      ]),
    );
    expect(messages).toHaveLength(1);
    expect(messages[0]).toMatchObject({ pgn: 0xfeca, source: 0x10, destination: 0x20 });
    expect(counts).toMatchObject({ connected: 1, control: 2, data: 3, stray: 1 });
  });
});
