import { describe, expect, it } from 'vitest';
import { findConversations } from '../../../src/reference/diagnostics/exchanges.ts';
import { readingsOf } from '../../../src/reference/diagnostics/readings.ts';
import { splitAnswers } from '../../../src/reference/diagnostics/split-answer.ts';
import { reassemble } from '../../../src/reference/diagnostics/transport.ts';
import type { Stream } from '../../../src/frames/table.ts';
import { onlyConversation } from '../../support/conversation.ts';
import { tableOfLines, type LogLine } from '../../support/log-table.ts';

const hex = (value: number, digits = 2): string => value.toString(16).padStart(digits, '0').toUpperCase();
const only = (streams: readonly Stream[], id: number): Stream => streams.find((each) => each.id === id) as Stream;

/** A tester that asks for three identifiers in turn, each a value that goes up. */
function polls(
  request: string,
  answer: string,
  count: number,
  address: readonly [string, string] = ['', ''],
): LogLine[] {
  return Array.from({ length: count }, (_, k): LogLine[] => {
    const identifier = `40 0${k % 3}`;
    const value = hex(k + 10);
    return [
      [k * 0.1, request, `${address[0]} 03 22 ${identifier} 00 00 00`.trim()],
      [k * 0.1 + 0.02, answer, `${address[1]} 05 62 ${identifier} 01 ${value} AA`.trim()],
    ];
  }).flat();
}

describe('conversations', () => {
  it('are found on identifiers that no standard sets aside, beside broadcast traffic', async () => {
    const broadcast = Array.from({ length: 300 }, (_, k): LogLine => [k * 0.01, '123', `02 ${hex(k & 127)} 00 01`]);
    const lookalike = Array.from({ length: 30 }, (_, k): LogLine => [k * 0.1 + 0.01, '456', '02 62 01 00 00 00 00 00']);
    const table = await tableOfLines(
      [...polls('6A1', '6A9', 30), ...broadcast, ...lookalike].sort((a, b) => a[0] - b[0]),
    );
    const [conversation, ...more] = findConversations(table);
    expect(more).toEqual([]);
    expect(conversation?.requests.map(({ stream }) => stream.id)).toEqual([0x6a1]);
    expect(conversation?.answers.map(({ stream }) => stream.id)).toEqual([0x6a9]);
    expect(conversation?.exchanges.filter(({ kind }) => kind === 'positive')).toHaveLength(30);
  });

  it('are found where an address byte comes first', async () => {
    const conversation = await onlyConversation(polls('6F1', '612', 12, ['12', 'F1']));
    expect(conversation.controlAt).toBe(1);
    const { series } = readingsOf(conversation);
    expect(series.map(({ identifier, address }) => [identifier, address])).toEqual([
      [0x4000, 0xf1],
      [0x4001, 0xf1],
      [0x4002, 0xf1],
    ]);
    expect(series[0]?.value).toEqual([0x10a, 0x10d, 0x110, 0x113]);
  });

  it('are not believed of identifiers that say but one thing over and over, unless a standard sets them aside', async () => {
    const sameAgain = (request: string, answer: string): LogLine[] =>
      Array.from({ length: 40 }, (_, k): LogLine[] => [
        [k * 0.1, request, '02 01 0D 00 00 00 00 00'],
        [k * 0.1 + 0.01, answer, '03 41 0D 14 00 00 00 00'],
      ]).flat();
    expect(findConversations(await tableOfLines(sameAgain('6A1', '6A9')))).toEqual([]);
    expect((await onlyConversation(sameAgain('7E0', '7E8'))).exchanges).toHaveLength(40);
  });

  it('are not seen in a bus that only broadcasts', async () => {
    const lines = Array.from({ length: 400 }, (_, k): LogLine => {
      const id = ['101', '102', '103', '104'][k % 4] as string;
      return [k * 0.01, id, `0${2 + (k % 4)} ${hex((k * 7) & 255)} ${hex(k & 255)} 00 00 00 00 00`];
    });
    expect(findConversations(await tableOfLines(lines))).toEqual([]);
  });

  it('one request to all may be answered by several', async () => {
    const conversation = await onlyConversation([
      [0, '7DF', '02 01 0D 00 00 00 00 00'],
      [0.01, '7E8', '03 41 0D 14 00 00 00 00'],
      [0.012, '7E9', '03 41 0D 15 00 00 00 00'],
      [1, '7DF', '02 01 0D 00 00 00 00 00'],
      [1.01, '7E8', '03 41 0D 16 00 00 00 00'],
    ]);
    const { series } = readingsOf(conversation);
    expect(series.map(({ id, value }) => [id, ...value])).toEqual([
      [0x7e8, 20, 22],
      [0x7e9, 21],
    ]);
    expect(conversation.exchanges.filter(({ kind }) => kind === 'unanswered')).toEqual([]);
  });

  it('an answer stamped a little before its request still belongs to it', async () => {
    const conversation = await onlyConversation([
      [0, '7E0', '03 22 40 01 00 00 00 00'],
      [0.01, '7E8', '04 62 40 01 07 00 00 00'],
      [0.108, '7E8', '04 62 40 02 09 00 00 00'],
      [0.11, '7E0', '03 22 40 02 00 00 00 00'],
    ]);
    expect(conversation.exchanges.map(({ kind }) => kind)).toEqual(['positive', 'positive']);
    expect(conversation.unasked).toBe(0);
  });
});

describe('reassembly', () => {
  it('counts messages that lose a frame, and goes on with the next', async () => {
    const { streams } = await tableOfLines([
      [0, '7E8', '10 14 62 F1 90 01 02 03'],
      [0.01, '7E8', '21 04 05 06 07 08 09 0A'],
      [0.02, '7E8', '23 0B 0C 0D 0E 0F 10 11'],
      [1, '7E8', '10 0A 62 01 02 03 04 05'],
      [1.01, '7E8', '04 62 40 01 07 00 00 00'],
      [2, '7E8', '10 0A 62 01 02 03 04 05'],
      [6, '7E8', '21 06 07 08 09 00 00 00'],
    ]);
    const { messages, counts } = reassemble(only(streams, 0x7e8), 0);
    expect(messages.map(({ payload }) => [...payload])).toEqual([[0x62, 0x40, 0x01, 0x07]]);
    expect(counts).toEqual({
      single: 1,
      first: 3,
      consecutive: 1,
      flowControl: 0,
      other: 2,
      broken: { 'cut-off': 2, 'wrong-order': 1 },
    });
  });

  it('reads a message of CAN FD whole', async () => {
    const body = Array.from({ length: 60 }, (_, k) => hex(k)).join(' ');
    const { streams } = await tableOfLines([[0, '7E8', `00 3C ${body} 00 00`]]);
    expect(reassemble(only(streams, 0x7e8), 0).messages[0]?.payload).toHaveLength(60);
  });
});

describe('answers to several identifiers', () => {
  const bytes = (text: string): Uint8Array => Uint8Array.from(text.split(' '), (byte) => Number.parseInt(byte, 16));

  it('are cut where the identifiers stand', () => {
    const [parts] = splitAnswers([{ identifiers: [0x4001, 0x4002], data: bytes('40 01 11 22 40 02 33') }]);
    expect(parts?.map(({ identifier, data }) => [identifier, ...data])).toEqual([
      [0x4001, 0x11, 0x22],
      [0x4002, 0x33],
    ]);
  });

  it('are settled by other answers where a value looks like an identifier', () => {
    const odd = { identifiers: [0x4001, 0x4002], data: bytes('40 01 11 40 02 22 40 02 33') };
    expect(splitAnswers([odd])).toEqual([null]);
    const [parts] = splitAnswers([odd, { identifiers: [0x4002], data: bytes('40 02 35') }]);
    expect(parts?.map(({ data }) => [...data])).toEqual([[0x11, 0x40, 0x02, 0x22], [0x33]]);
  });

  it('may leave out what the module does not know', () => {
    const [parts] = splitAnswers([{ identifiers: [0x4001, 0x4002, 0x4003], data: bytes('40 01 11 40 03 33') }]);
    expect(parts?.map(({ identifier }) => identifier)).toEqual([0x4001, 0x4003]);
  });
});
