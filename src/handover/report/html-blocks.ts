/** Blocks of the document as HTML. Every text goes through `htmlText`; tags and attributes are only those written here. */
import { isHueRepeated } from '../../kit/drawing/palette.ts';
import {
  fullCell,
  plainOf,
  runsOf,
  type Block,
  type Cell,
  type Mark,
  type Picture,
  type Run,
  type Table,
  type Words,
} from './document.ts';
import { htmlText } from './markup-text.ts';
import { pictureSvg } from './pictures/draw.ts';

/** What one file has: names for its pictures in the order in which they are written, and the kinds of tables in it. */
export interface Writing {
  readonly nextId: () => string;
  /** Column names of a kind of table -> its class. */
  readonly tables: Map<string, string>;
}

export function writing(): Writing {
  let count = 0;
  return { nextId: () => `p${++count}`, tables: new Map() };
}

const RUN_TAG = { mono: 'code', inferred: 'i', strong: 'b' } as const;

const runHtml = (run: string | Run): string =>
  typeof run === 'string' ? htmlText(run) : `<${RUN_TAG[run.as]}>${htmlText(run.text)}</${RUN_TAG[run.as]}>`;

export const wordsHtml = (words: Words): string => runsOf(words).map(runHtml).join('');

const linesHtml = (lines: readonly Words[]): string =>
  lines.length === 1 ? wordsHtml(lines[0] as Words) : lines.map((line) => `<div>${wordsHtml(line)}</div>`).join('');

/** The letter in a frame of its hue; above eight groups hues come again, dashed. */
export function tagHtml(group: string): string {
  const letter = /^[A-Z]$/.test(group) ? String.fromCharCode(97 + ((group.charCodeAt(0) - 65) % 8)) : '';
  const classes = ['tag', letter && `g-${letter}`, isHueRepeated(group) && 'again'].filter(Boolean).join(' ');
  return `<span class="${classes}">${htmlText(group)}</span>`;
}

const MARKS: Readonly<Record<Mark, string>> = {
  guess:
    '<circle cx="8" cy="8.5" r="4.6" fill="none" stroke="var(--standing-guess)" stroke-width="1.4" stroke-dasharray="2.4 1.7"/>',
  supported:
    '<path d="M8 2.6L13.4 12H2.6Z" fill="none" stroke="var(--standing-supported)" stroke-width="1.4"/><circle cx="8" cy="8.9" r="1.2" fill="var(--standing-supported)"/>',
  proven:
    '<path d="M8 2.6L13.4 12H2.6Z" fill="var(--standing-proven)"/><path d="M1.6 14.6h12.8" stroke="var(--standing-proven)" stroke-width="1.6"/>',
  required: '<rect x="3" y="3" width="10" height="10" fill="var(--ink)"/>',
  untested: '<rect x="3.5" y="3.5" width="9" height="9" fill="none" stroke="var(--ink-3)" stroke-dasharray="2 1.6"/>',
  'not-required': '<path d="M4 8h8" stroke="var(--ink-3)" stroke-width="1.5"/>',
  holds: '<circle cx="8" cy="8" r="3.6" fill="var(--ink)"/>',
  fails:
    '<rect x="2" y="2" width="12" height="12" fill="var(--ink)"/><path d="M5 5l6 6M11 5l-6 6" stroke="var(--ground)" stroke-width="1.6"/>',
  'not-exercised': '<circle cx="8" cy="8" r="3.8" fill="none" stroke="var(--ink-2)" stroke-width="1.3"/>',
};

/** Drawn once a file, used by name. */
export const marksHtml = (): string =>
  `<svg class="unseen" aria-hidden="true">${Object.entries(MARKS)
    .map(([name, drawn]) => `<symbol id="mk-${name}" viewBox="0 0 16 16">${drawn}</symbol>`)
    .join('')}</svg>`;

const markHtml = (mark: Mark): string => `<svg class="mk" aria-hidden="true"><use href="#mk-${mark}"/></svg>`;

function cellHtml(cell: Cell, file: Writing): string {
  const { words, mark, group, picture, lines, link, after } = fullCell(cell);
  const said = lines ? linesHtml(lines) : wordsHtml(words);
  const linked = link ? `<a href="#${link}">${said}</a>` : said;
  return [
    mark ? markHtml(mark) : '',
    group ? tagHtml(group) : '',
    linked,
    after ? htmlText(after) : '',
    picture ? pictureSvg(picture, file.nextId()) : '',
  ].join('');
}

/** Tables of more columns become a list of rows on a phone, each value under the name of its column. */
const STACKED_FROM = 4;
/** Tables of so few columns give most of their room to the one that is wide. */
const NARROW_UP_TO = 5;

/** A class for tables with these columns. */
function kindOf(columns: readonly { readonly name: string }[], { tables }: Writing): string {
  const key = columns.map(({ name }) => name).join('\n');
  const known = tables.get(key) ?? `t${tables.size + 1}`;
  tables.set(key, known);
  return known;
}

/** On a phone each value stands behind the name of its column: once a kind of table, not once a value. Column names are the report's own. */
export const columnStyle = ({ tables }: Writing): string =>
  [...tables]
    .flatMap(([key, name]) =>
      key.split('\n').map((column, index) => `.${name} td:nth-child(${index + 1})::before{content:"${column}"}`),
    )
    .join('');

export function tableHtml({ head, rows, otherwise }: Table, file: Writing): string {
  if (rows.length === 0) return otherwise ? `<p class="dim">${htmlText(otherwise)}</p>` : '';
  const columns = head.map((column) => (typeof column === 'string' ? { name: column } : column));
  const isStacked = columns.length >= STACKED_FROM || columns.some(({ picture }) => picture);
  const widest = columns.length > NARROW_UP_TO ? 'w' : 'ww';
  const headHtml = columns
    .map(({ name, align, wide, picture }) => {
      const classes = [align === 'right' && 'r', wide && widest, picture && 'p'].filter(Boolean).join(' ');
      return `<th scope="col"${classes ? ` class="${classes}"` : ''}>${htmlText(name)}${picture ? pictureSvg(picture, file.nextId()) : ''}</th>`;
    })
    .join('');
  const rowHtml = (cells: readonly Cell[]): string =>
    `<tr>${cells
      .map((cell, index) => {
        const said = cellHtml(cell, file);
        const { mark } = fullCell(cell);
        const classes = [columns[index]?.align === 'right' && 'r', mark && 'n', said === '' && 'none'].filter(Boolean);
        return `<td${classes.length > 0 ? ` class="${classes.join(' ')}"` : ''}>${said}</td>`;
      })
      .join('')}</tr>`;
  const look = [isStacked && `stack ${kindOf(columns, file)}`, columns.some(({ wide }) => wide) && 'full']
    .filter(Boolean)
    .join(' ');
  return `<table${look ? ` class="${look}"` : ''}><thead><tr>${headHtml}</tr></thead><tbody>${rows.map(rowHtml).join('')}</tbody></table>`;
}

/** Wide pictures can be moved sideways where the screen is narrower. */
const PANNED: ReadonlySet<string> = new Set(['sequence', 'schedule']);

function figureHtml(picture: Picture, file: Writing): string {
  const { content, caption, behind, title } = picture;
  const svg = pictureSvg(picture, file.nextId());
  const drawn = PANNED.has(content.of)
    ? `<div class="pan" tabindex="0" role="group" aria-label="${htmlText(title)}">${svg}</div>`
    : svg;
  const said = caption ? `<figcaption>${htmlText(caption)}</figcaption>` : '';
  const isBits = content.of === 'bits';
  // The fields' table under the drawing of bits says as much; other pictures have theirs folded.
  const table = behind && !isBits ? `<details><summary>As a table</summary>${tableHtml(behind, file)}</details>` : '';
  return `<figure${isBits ? '' : ' class="whole"'}>${drawn}${said}${table}</figure>`;
}

export function blockHtml(block: Block, file: Writing): string {
  switch (block.kind) {
    case 'words':
      return `<p${block.tone ? ` class="${block.tone}"` : ''}>${wordsHtml(block.words)}</p>`;
    case 'list': {
      const tag = block.ordered ? 'ol' : 'ul';
      return `<${tag}>${block.items.map((item) => `<li>${wordsHtml(item)}</li>`).join('')}</${tag}>`;
    }
    case 'facts':
      return `<dl class="facts">${block.rows.map(([name, cell]) => `<dt>${htmlText(name)}</dt><dd>${cellHtml(cell, file)}</dd>`).join('')}</dl>`;
    case 'subhead':
      return `<p class="sh">${wordsHtml(block.words)}</p>`;
    case 'pictures': {
      const legend = (block.legend ?? []).map((picture) => pictureSvg(picture, file.nextId())).join('');
      return `<div class="figures">${block.pictures.map((picture) => figureHtml(picture, file)).join('')}${legend ? `<div class="legend">${legend}</div>` : ''}</div>`;
    }
    case 'table':
      return tableHtml(block, file);
  }
}

export const titleHtml = (title: Words, group?: string): string => `${group ? tagHtml(group) : ''}${wordsHtml(title)}`;
export const titleText = (title: Words): string => htmlText(plainOf(title));
