/** The whole report: both printers say what the document says, its parts are filled by what is known, it stays small, and no text of a map acts. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { cautionsFor } from '../../../src/handover/cautions.ts';
import { contextOf, type ReportInput } from '../../../src/handover/report/context.ts';
import { plainOf, fullCell, type Block, type Section } from '../../../src/handover/report/document.ts';
import { reportHtml } from '../../../src/handover/report/html.ts';
import { reportMarkdown } from '../../../src/handover/report/markdown.ts';
import { markdownText } from '../../../src/handover/report/markup-text.ts';
import { reportModel } from '../../../src/handover/report/model.ts';
import { questionsOf } from '../../../src/handover/report/sections/questions.ts';
import { seenRecord } from './extras.ts';
import { strangeMarkup, tagsOf } from '../../support/report-markup.ts';
import { aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { largeMap, pumpMap, tracesFor } from './maps.ts';

const inputOf = (map = pumpMap, extras: ReportInput['extras'] = {}): ReportInput => ({
  map,
  cautions: cautionsFor(map),
  leftOut: [{ name: 'speed_demand', why: 'the rule of its checksum is not known' }],
  extras,
});

const unescaped = (html: string): string =>
  html
    .replace(/<[^>]*aria-label="([^"]*)"[^>]*>/g, ' $1 ')
    .replace(/<[^>]*>/g, ' ')
    .replace(/&lt;/g, '<')
    .replace(/&gt;/g, '>')
    .replace(/&quot;/g, '"')
    .replace(/&#39;/g, "'")
    .replace(/&amp;/g, '&')
    .replace(/\s+/g, ' ');

/** All texts of a document, pictures' words with them. */
function textsOf(section: Section): string[] {
  const ofCell = (cell: Parameters<typeof fullCell>[0]): string[] => {
    const { words, lines } = fullCell(cell);
    return (lines ?? [words]).map(plainOf);
  };
  const ofBlock = (block: Block): string[] => {
    if (block.kind === 'words' || block.kind === 'subhead') return [plainOf(block.words)];
    if (block.kind === 'list') return block.items.map(plainOf);
    if (block.kind === 'facts') return block.rows.flatMap(([name, cell]) => [name, ...ofCell(cell)]);
    if (block.kind === 'table') return block.rows.flatMap((row) => row.flatMap(ofCell));
    return block.pictures.map(({ title }) => title);
  };
  return [plainOf(section.title), ...section.blocks.flatMap(ofBlock), ...(section.sections ?? []).flatMap(textsOf)];
}

describe('the document', () => {
  const { sections } = reportModel(inputOf(pumpMap, { traces: tracesFor(pumpMap) }));
  const texts = sections.flatMap(textsOf).filter((text) => text.trim() !== '');

  it('is all in the HTML and all in the Markdown', () => {
    const html = unescaped(reportHtml(inputOf(pumpMap, { traces: tracesFor(pumpMap) })));
    const markdown = reportMarkdown(inputOf(pumpMap, { traces: tracesFor(pumpMap) }));
    const squeeze = (text: string): string => text.replace(/[*\s]+/g, '');
    const [inHtml, inMarkdown] = [squeeze(html), squeeze(markdown)];
    for (const text of texts) {
      expect([text, inHtml.includes(squeeze(text))]).toEqual([text, true]);
      expect([text, inMarkdown.includes(squeeze(markdownText(text)))]).toEqual([text, true]);
    }
  });

  it('has every part, each told what it lacks where it lacks it', () => {
    expect(sections.map(({ id }) => id)).toEqual([
      'identity',
      'wiring',
      'buses',
      'loom',
      'frames',
      'sequences',
      'keep-alive',
      'trials',
      'proof',
      'questions',
      'left-out',
    ]);
    for (const id of ['wiring', 'trials', 'proof', 'keep-alive'])
      expect(textsOf(sections.find((section) => section.id === id) as Section).join(' '), id).toMatch(
        /No |None|without/,
      );
  });

  it('names what is open: guesses, bits beside, unsolved and undetermined, pages never seen, doubts, cipher, needs', () => {
    const asked = questionsOf(contextOf(inputOf())).map(({ frame, about }) => `${frame.name} ${about}`);
    expect(asked).toEqual([
      'pump_status doubt',
      'pump_status checksum',
      'pump_status extent',
      'pump_status guesses',
      'cells pages',
      'cells guesses',
      'speed_demand checksum',
      'speed_demand moving bits',
      'speed_demand guesses',
    ]);
    expect(texts.join('\n')).toContain('nothing is known of the pages 4, 5, 7');
    expect(texts.join('\n')).toContain('was not tried for 1 of 2 frames of others');
  });

  it('says of each mode only what differs', () => {
    expect(texts).toContain('when asleep');
    expect(texts).not.toContain('when on');
  });
});

describe('what is known beside the map', () => {
  it('fills wiring, trials, proof and the plan', () => {
    const proofs = [
      {
        title: 'harbour',
        frames: [
          {
            bus: 'can0',
            id: '0x1F4',
            extended: false,
            verdict: 'fails',
            items: [
              {
                item: 'signal',
                name: 'state',
                verdict: 'fails',
                rate: 0.5,
                n: 12,
                detail: 'two values that were never seen',
              },
              { item: 'timing', name: '', verdict: 'holds', rate: 1, n: 100, detail: '' },
            ],
          },
        ],
      },
    ] as const;
    const text = sectionsText(reportModel(inputOf(pumpMap, { bench: seenRecord, proofs })).sections);
    expect(text).toContain('13.8 V');
    expect(text).toContain('operational (a person saw it)');
    expect(text).toContain('seen by hand: fan runs');
    expect(text).toContain('two values that were never seen');
    expect(text).toContain('1 of 2');
  });

  it('draws a trace for each signal that has one, under one axis a table', () => {
    const html = reportHtml(inputOf(pumpMap, { traces: tracesFor(pumpMap) }));
    const signals = pumpMap.frames.reduce((sum, { signals: own }) => sum + own.length, 0);
    expect(html.match(/<svg class="trace"/g)).toHaveLength(signals);
    expect(html.match(/<svg class="axis"/g)).toHaveLength(pumpMap.frames.length);
    expect(reportHtml(inputOf())).not.toContain('<svg class="trace"');
  });
});
const sectionsText = (sections: readonly Section[]): string => sections.flatMap(textsOf).join('\n');

describe('the HTML', () => {
  const html = reportHtml(inputOf(pumpMap, { traces: tracesFor(pumpMap) }));

  it('loads nothing and runs nothing', () => {
    expect(html).toContain(`content="default-src 'none'; style-src 'unsafe-inline'"`);
    expect(strangeMarkup(html)).toEqual([]);
    expect(html).not.toMatch(/<script|<link|<img|@import|url\(http|javascript:/i);
  });

  it('names each thing once, and every link leads somewhere', () => {
    const tags = tagsOf(html).filter(({ name }) => name !== '');
    const ids = tags.flatMap(({ attributes }) => attributes.filter(([key]) => key === 'id').map(([, value]) => value));
    expect(new Set(ids).size).toBe(ids.length);
    const wanted = tags.flatMap(({ attributes }) =>
      attributes.flatMap(([key, value]) => {
        if (key === 'href') return [value.slice(1)];
        return key === 'aria-labelledby' ? value.split(' ') : [];
      }),
    );
    expect(wanted.filter((id) => !ids.includes(id))).toEqual([]);
  });

  it('closes what it opens', () => {
    const open: string[] = [];
    for (const [, inside = ''] of html.matchAll(/<([^>]*)>/g)) {
      if (/^!|^meta\b|\/$/.test(inside)) continue;
      if (inside.startsWith('/')) expect(open.pop()).toBe(inside.slice(1));
      else open.push(/^[a-zA-Z0-9]+/.exec(inside)?.[0] ?? '');
    }
    expect(open).toEqual([]);
  });

  it('has the inks of the workbench, by day and by night', () => {
    const path = fileURLToPath(new URL('../../../src/app/theme/tokens.css', import.meta.url));
    const tokens = readFileSync(path, 'utf8');
    const [paper = '', night = ''] = tokens.split(/\[data-theme=["']?night["']?\]/);
    const of = (text: string): Map<string, string> =>
      new Map(
        [...text.matchAll(/--([a-z0-9-]+):\s*([^;}]+)[;}]/g)].map(([, name = '', value = '']) => [
          name,
          value.replace(/\s+/g, '').toLowerCase(),
        ]),
      );
    const [, own = '', ownNight = ''] = /:root\{([^}]*)\}[^{]*\{:root\{([^}]*)\}/.exec(html) ?? [];
    for (const [theirs, mine] of [
      [of(paper), of(`${own};`)],
      [of(night), of(`${ownNight};`)],
    ] as const) {
      const inks = [...mine].filter(([, value]) => /^(#|rgb)/.test(value));
      expect(inks.length).toBeGreaterThan(20);
      for (const [name, value] of inks) expect([name, value]).toEqual([name, theirs.get(name)]);
    }
  });
});

it('60 frames of 20 signals of FD with a trace for each stay below 3 MB', () => {
  const map = largeMap();
  const input = inputOf(map, { traces: tracesFor(map) });
  expect(new TextEncoder().encode(reportHtml(input)).length).toBeLessThan(3e6);
});

describe('whatever a map holds', () => {
  it.each([
    ['nothing', aMap([])],
    ['a frame of no bytes', aMap([aFrame({ length: 0, rest: null })])],
    [
      'a sender with a long name for a letter',
      aMap([aFrame({ sender: { group: 'Z'.repeat(400), name: '', confidence: 1 } })]),
    ],
    ['a bus that is not listed', aMap([aFrame({ bus: 'elsewhere' })])],
    [
      'figures at their ends',
      aMap([
        aFrame({
          signals: [
            aSignal({
              lsb: { byte: 0, bit: 0 },
              length: 64,
              scale: 1e-300,
              offset: -1e300,
              observed: { min: -1e308, max: 1e308 },
              invalid: [{ from: '0xFFFFFFFFFFFFFFFF', to: '0xFFFFFFFFFFFFFFFF', meaning: '' }],
            }),
          ],
        }),
      ]),
    ],
  ])('%s: a report is made', (_name, map) => {
    const html = reportHtml(inputOf(map));
    expect(strangeMarkup(html)).toEqual([]);
    expect(unescaped(html)).not.toMatch(/undefined|\[object|NaN/);
    expect(reportMarkdown(inputOf(map))).not.toMatch(/undefined|\[object|NaN/);
  });
});
