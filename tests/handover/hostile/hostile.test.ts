/** Texts of a map from a stranger go into C, HTML, Markdown, CSV and JSON as text, and as nothing else. */
import Papa from 'papaparse';
import { beforeAll, describe, expect, it } from 'vitest';
import { handoverFiles } from '../../../src/handover/handover-files.ts';
import { keepAlivePlan } from '../../../src/handover/needs/plan.ts';
import { exportSchedule, scheduleFiles } from '../../../src/handover/sending/schedule-export.ts';
import { frameKey } from '../../../src/map/identifiers.ts';
import { parseMap } from '../../../src/map/parse.ts';
import type { SignalMap } from '../../../src/map/schema.ts';
import { requireGcc, STRICT, workplace } from '../../support/compile-c.ts';
import { CLANG, leaveOutIf, PYTHON } from '../maps/toolchains.ts';
import { harmlessMap, HOSTILE, hostileMap } from './hostile-map.ts';
import { blockShape, parseHtml, UNSHOWABLE } from './markup.ts';

type Files = ReadonlyMap<string, string>;

function filesOf(map: SignalMap): Files {
  const { files } = handoverFiles(map);
  return new Map(files.map(({ name, bytes }) => [name, new TextDecoder().decode(bytes)]));
}

function sendingOf(map: SignalMap): Files {
  const release = map.frames.filter(({ role }) => role === 'needed-by-part').map(frameKey);
  const asked = { map, planned: keepAlivePlan(map).frames, release, span: null, unwatched: [], code: {} };
  const made = exportSchedule(asked);
  if (!made.ok) throw new Error(made.problems[0].message);
  const files = scheduleFiles(asked, made.value, made.value.phrase);
  if (!files) throw new Error('the phrase was not taken');
  return new Map(files.map(({ name, text }) => [name, text]));
}

let hostile: Files;
let harmless: Files;
let sending: Files;
let harmlessSending: Files;
beforeAll(() => {
  requireGcc();
  [hostile, harmless] = [filesOf(hostileMap()), filesOf(harmlessMap())];
  [sending, harmlessSending] = [sendingOf(hostileMap()), sendingOf(harmlessMap())];
}, 120_000);

const file = (files: Files, name: string): string => {
  const text = files.get(name);
  if (text === undefined) throw new Error(`no file ${name}`);
  return text;
};
const isC = (name: string): boolean => /\.[ch]$/.test(name);

describe('C', () => {
  const code = (): [string, string][] => [...hostile, ...sending].filter(([name]) => isC(name));

  it('is plain ASCII without trigraphs, spliced lines or tabs', () => {
    expect(code().length).toBeGreaterThanOrEqual(4);
    for (const [name, text] of code()) {
      expect(text, name).not.toMatch(/[^\x20-\x7e\n]/);
      expect(text, name).not.toMatch(/\?\?[=/'()!<>-]/);
      expect(text, name).not.toMatch(/\\\n/);
    }
  });

  it('has nothing of a text outside comments but names', () => {
    for (const [name, text] of code()) {
      const bare = text.replace(/\/\*[\s\S]*?\*\//g, '');
      expect(bare, name).not.toMatch(/\/\/|\/\*|\*\/|`|\$|@/);
      const quoted = [...bare.matchAll(/"[^"\n]*"/g)].map(([each]) => each);
      expect(
        [...new Set(quoted)].filter((each) => !/^"(signal_map\.h|\w+\.h|C)"$/.test(each)),
        name,
      ).toEqual([]);
      const included = [...bare.matchAll(/^\s*#\s*include\s+(.*)$/gm)].map(([, each]) => each as string);
      expect(
        included.filter((each) => !/^(<(std\w+|string)\.h>|"\w+\.h")$/.test(each)),
        name,
      ).toEqual([]);
    }
  });

  it('has the same statements as that of a map with harmless names', () => {
    // Names apart, and the order of comments: what is left is operators, braces and keywords.
    const shape = (text: string): string =>
      text
        .replace(/\/\*[\s\S]*?\*\//g, '')
        .replace(/^\s*#define .*$/gm, '#define')
        .replace(/\b[A-Za-z_]\w*\b/g, 'n')
        .replace(/\s+/g, ' ');
    for (const name of ['signal_map.h', 'signal_map.c']) {
      expect(shape(file(hostile, name)) === shape(file(harmless, name)), name).toBe(true);
    }
  });

  const compile = (c: string, cpp: string): void => {
    for (const files of [hostile, sending]) {
      const place = workplace();
      for (const [name, text] of files) if (isC(name)) place.write(name, text);
      for (const [name] of files) {
        if (!name.endsWith('.c')) continue;
        place.compile(c, ['-std=c99', ...STRICT, '-Wtrigraphs', '-Wcomment', '-fsyntax-only', name]);
        place.compile(cpp, ['-x', 'c++', '-std=c++17', ...STRICT, '-Wcomment', '-fsyntax-only', name]);
      }
      place.remove();
    }
  };
  it('compiles with gcc as C99 and C++17', () => compile('gcc', 'g++'));
  it('compiles with clang as C99 and C++17', ({ skip }) => {
    leaveOutIf(CLANG, skip);
    compile('clang', 'clang++');
  });
});

describe('HTML', () => {
  const pages = (): string[] => [...hostile.keys()].filter((name) => name.endsWith('.html'));

  it('has no element and no attribute of theirs', ({ skip }) => {
    leaveOutIf(PYTHON, skip);
    expect(pages()).toContain('report.html');
    for (const name of pages()) {
      const [theirs, ours] = [parseHtml(file(hostile, name)), parseHtml(file(harmless, name))];
      const known = new Set(ours.elements);
      expect(
        [...new Set(theirs.elements)].filter((each) => !known.has(each)),
        name,
      ).toEqual([]);
      expect(
        theirs.elements.filter((each) => /^(script|iframe|object|embed|base|link|<!--)/.test(each)),
        name,
      ).toEqual([]);
      const risky = theirs.values.filter(
        ([attribute, value]) =>
          /^on/.test(attribute) || (/^(href|src|action|xlink:href)$/.test(attribute) && !value.startsWith('#')),
      );
      expect(risky, name).toEqual([]);
      expect(theirs.elements.filter((each) => each.startsWith('style')).length).toBe(
        ours.elements.filter((each) => each.startsWith('style')).length,
      );
    }
  });

  it('shows them as they are written', ({ skip }) => {
    leaveOutIf(PYTHON, skip);
    const { text } = parseHtml(file(hostile, 'report.html'));
    for (const shown of ['<script>alert(1)</script>', '__proto__', '&lt;script&gt;', '"><svg/onload=alert(1)>'])
      expect(text).toContain(shown);
    // Nothing that turns the direction of writing.
    expect(text).not.toMatch(UNSHOWABLE);
  });
});

describe('Markdown', () => {
  const names = (): string[] => [...hostile.keys()].filter((name) => name.endsWith('.md'));

  it('has the lines that it has with harmless names, and no more', () => {
    expect(names()).toEqual(expect.arrayContaining(['keep-alive.md', 'report.md']));
    for (const name of names()) {
      expect(blockShape(file(hostile, name)), name).toEqual(blockShape(file(harmless, name)));
    }
  });

  it('has no markup of theirs', () => {
    for (const name of names()) {
      const text = file(hostile, name).replace(/\\[\\`*_{}[\]()#+!|~<>&.:=-]/g, '');
      const ours = file(harmless, name).replace(/\\[\\`*_{}[\]()#+!|~<>&.:=-]/g, '');
      const marks = (each: string): Record<string, number> => {
        const count: Record<string, number> = {};
        for (const [sign] of each.matchAll(/[`*_[\]<>~!]/g)) count[sign] = (count[sign] ?? 0) + 1;
        return count;
      };
      expect(marks(text), name).toEqual(marks(ours));
      expect(text, name).not.toMatch(UNSHOWABLE);
    }
  });
});

describe('CSV', () => {
  it('has a row a frame, and no cell that a spreadsheet would work out', () => {
    const names = [...hostile.keys()].filter((name) => name.endsWith('.csv'));
    expect(names).toContain('keep-alive.csv');
    for (const name of names) {
      const rows = Papa.parse<string[]>(file(hostile, name).trimEnd()).data;
      const ours = Papa.parse<string[]>(file(harmless, name).trimEnd()).data;
      expect(
        rows.map((row) => row.length),
        name,
      ).toEqual(ours.map((row) => row.length));
      const risky = rows
        .flat()
        .filter((cell) => /^\s*[=+@\t\r]/.test(cell) || (/^\s*-/.test(cell) && Number.isNaN(Number(cell))));
      expect(risky, name).toEqual([]);
    }
  });
});

describe('JSON and plain text', () => {
  it('comes back with every name as it was', () => {
    const outcome = parseMap(file(hostile, 'signal-map.json'), 'signal-map.json');
    if (!outcome.ok) throw new Error(outcome.problems[0].message);
    // A half of a pair of surrogates alone is no character: UTF-8 has none for it.
    const whole = HOSTILE.map((text) => (text.includes('\ud800') ? expect.any(String) : text));
    expect(outcome.value.frames.map(({ name }) => name)).toEqual(whole);
    expect(Object.getPrototypeOf(outcome.value.frames[0])).toBe(Object.prototype);
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
    for (const [name, text] of hostile)
      if (name.endsWith('.json')) expect(() => JSON.parse(text) as unknown, name).not.toThrow();
  });

  it('cautions stay a line each', () => {
    const lines = (files: Files): number => file(files, 'read-first.txt').split('\n').length;
    expect(lines(sending)).toBe(lines(harmlessSending));
  });
});
