/**
 * A map from a stranger: every text in it is hostile to some kind of file, and a twin of the same shape whose texts are harmless. What is made of the
 * two may differ in words and in nothing else.
 */
import type { SignalMap } from '../../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';

/** Each for the files that it may harm. */
export const HOSTILE: readonly string[] = [
  '*/ #include "/etc/passwd" /*',
  '"; system("x"); //',
  'a\nb',
  'a\r\nb\rc',
  'a\u2028b\u2029c',
  'what??/',
  '??=define x ??<',
  'ends in a backslash\\',
  'line \\\n continued',
  'int',
  'class',
  'SM_OK',
  'memcpy',
  'uint8_t',
  'size_t',
  'near',
  'NULL',
  'I',
  '123',
  '=1+1',
  '+cmd|x!A1',
  '-2',
  '@SUM(A1)',
  '\t=1',
  '\r=1',
  '<script>alert(1)</script>',
  '<img src=x onerror=alert(1)>',
  '"><svg/onload=alert(1)>',
  "' onmouseover='alert(1)",
  '</style><script>alert(1)</script>',
  '</title></head><body onload=alert(1)>',
  '<!-- open comment',
  '--> ]]> <![CDATA[',
  '&lt;script&gt; &#x3c;b&#x3e;',
  '[link](javascript:alert(1))',
  '![picture](http://example.invalid/x.png)',
  '`code` | cell | *bold* _it_ ~~gone~~ <https://example.invalid>',
  '# heading',
  '- item',
  '1. item',
  '> quoted',
  '---',
  '```',
  '    indented',
  '| a | b |',
  '\u202edlrow\u202c /* */',
  '\u2066\u2069\u200f',
  'nul \u0000 byte',
  'bell \u0007 escape \u001b[31m red',
  '\ud800 half',
  '\u00e9t\u00e9 \u{1F980}',
  'e\u0301',
  '__proto__',
  'constructor',
  'toString',
  'hasOwnProperty',
  'x',
  'X',
  'x!',
  'x_valid',
  'payload',
  'failed',
  'frame',
  '%s%n%d',
  '$(touch x) `touch y`',
  '../../etc/passwd',
  `${'very long '.repeat(400)}<b>`,
];

const id = (i: number): string => `0x${(0x100 + i).toString(16).toUpperCase()}`;
const when = (name: string): Record<string, number[]> => Object.fromEntries([[name, [1]]]);

/** A frame for each of the texts; each text stands once in every place that a text can stand in. */
export function mapOfTexts(texts: readonly string[]): SignalMap {
  const at = (i: number): string => texts[i % texts.length] as string;
  const frames = texts.map((text, i) =>
    aFrame({
      id: id(i),
      name: text,
      bus: text,
      length: 8,
      role: i % 3 === 0 ? 'needed-by-part' : i % 3 === 1 ? 'sent-by-part' : 'other',
      sender: { group: i % 3 === 1 ? 'B' : 'A', name: at(i + 1), confidence: 0.9 },
      rest: {
        payload: '00 00 00 00 00 00 00 00',
        capture: at(i + 2),
        fromS: 0,
        toS: 1,
        marked: at(i + 3),
      },
      counters: [aCounter({ name: text, lsb: { byte: 6, bit: 0 }, length: 4 })],
      selectors: [aSelector({ name: text, lsb: { byte: 5, bit: 0 }, length: 4 })],
      checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor', covers: [0, 1, 2, 3, 4, 5, 6] })],
      signals: [0, 1, 2].map((k) =>
        aSignal({
          name: at(i + 7 * k),
          lsb: { byte: k, bit: 0 },
          length: 8,
          unit: at(i + k + 4),
          notes: at(i + k + 5),
          kind: k === 0 ? 'states' : 'number',
          role: k === 1 ? 'command' : 'feedback',
          states: k === 0 ? { '0': at(i), '1': at(i + 8), '2': at(i + 9) } : {},
          invalid: k === 2 ? [{ from: 255, to: 255, meaning: at(i + 10) }] : [],
          observed: { min: 0, max: 200 },
          when: k === 2 ? when(text) : null,
          evidence: [
            {
              kind: 'link',
              capture: at(i + 2),
              action: at(i + 11),
              direction: 'onset',
              effect: 3,
              effectSd: 4,
              lagS: 0.1,
              p: 0.001,
              q: 0.01,
              n: 9,
            },
            {
              kind: 'fit',
              capture: at(i + 2),
              quantity: at(i + 12),
              unit: at(i + 13),
              scale: 1,
              scaleSe: 0.01,
              offset: 0,
              offsetSe: 0.1,
              r2: 0.99,
              n: 90,
            },
            { kind: 'by-hand', note: at(i + 14), instead: at(i + 15) },
          ],
        }),
      ),
      unclaimed: [{ lsb: { byte: 3, bit: 0 }, length: 8, order: 'little', reason: 'idle', value: 0 }],
    }),
  );
  return aMap(frames, {
    requires: ['when'],
    part: { title: texts.slice(0, 40).join(' '), donor: at(1), notes: texts.join('\n') },
    made: { by: texts.slice(0, 40).join(' '), at: at(2) },
    captures: texts.map((text, i) => ({
      id: text,
      title: at(i + 1),
      files: [{ name: at(i + 2), bytes: 1, sha256: at(i + 3) }],
    })),
    buses: texts.map((name) => ({ name, bitrate: 500000, dataBitrate: null })),
    sequences: texts.map((text, i) => ({
      name: text,
      event: at(i + 1),
      n: 2,
      steps: [
        {
          bus: text,
          id: id(i),
          signal: at(i),
          from: 0,
          to: 1,
          group: at(i + 3),
          delayMs: [1, 2] as [number, number],
          seen: 2,
        },
      ],
    })),
  });
}

export const hostileMap = (): SignalMap => mapOfTexts(HOSTILE);
/** As many texts, each a word of its own; what one says of moving the machine, the other says too. */
export const harmlessMap = (): SignalMap =>
  mapOfTexts(HOSTILE.map((text, i) => `${/cmd/.test(text) ? 'cmd' : 'word'} ${i} of many`));
