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
  type Table,
  type Words,
} from './document.ts';
import { htmlText } from './markup-text.ts';
import { pictureSvg } from './pictures/draw.ts';

/** Unique names for pictures, in the order in which they are written. */
export type NextId = () => string;

const RUN_CLASS = { mono: 'mono', inferred: 'in', strong: 'st' } as const;

export const wordsHtml = (words: Words): string =>
  runsOf(words)
    .map((run) =>
      typeof run === 'string' ? htmlText(run) : `<span class="${RUN_CLASS[run.as]}">${htmlText(run.text)}</span>`,
    )
    .join('');

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

function cellHtml(cell: Cell, nextId: NextId): string {
  const { words, mark, group, picture, lines, link, after } = fullCell(cell);
  const said = lines ? lines.map((line) => `<div>${wordsHtml(line)}</div>`).join('') : wordsHtml(words);
  const linked = link ? `<a href="#${link}">${said}</a>` : said;
  return [
    mark ? markHtml(mark) : '',
    group ? tagHtml(group) : '',
    linked,
    after ? htmlText(after) : '',
    picture ? pictureSvg(picture, nextId()) : '',
  ].join('');
}

/** Tables of more columns become a list of rows on a phone, each value under the name of its column. */
const STACKED_FROM = 5;

export function tableHtml({ head, rows, otherwise }: Table, nextId: NextId): string {
  if (rows.length === 0) return otherwise ? `<p class="dim">${htmlText(otherwise)}</p>` : '';
  const columns = head.map((column) => (typeof column === 'string' ? { name: column } : column));
  const isStacked = columns.length >= STACKED_FROM || columns.some(({ picture }) => picture);
  const headHtml = columns
    .map(({ name, align, wide, picture }) => {
      const classes = [align === 'right' && 'r', wide && 'w'].filter(Boolean).join(' ');
      return `<th scope="col"${classes ? ` class="${classes}"` : ''}>${htmlText(name)}${picture ? pictureSvg(picture, nextId()) : ''}</th>`;
    })
    .join('');
  const rowHtml = (cells: readonly Cell[]): string =>
    `<tr>${cells
      .map((cell, index) => {
        const said = cellHtml(cell, nextId);
        const classes = [columns[index]?.align === 'right' && 'r', said === '' && 'none'].filter(Boolean).join(' ');
        const heading = isStacked ? ` data-h="${htmlText(columns[index]?.name ?? '')}"` : '';
        return `<td${classes ? ` class="${classes}"` : ''}${heading}>${said}</td>`;
      })
      .join('')}</tr>`;
  const look = [isStacked && 'stack', columns.some(({ wide }) => wide) && 'full'].filter(Boolean).join(' ');
  return `<table${look ? ` class="${look}"` : ''}><thead><tr>${headHtml}</tr></thead><tbody>${rows.map(rowHtml).join('')}</tbody></table>`;
}

/** Wide pictures can be moved sideways where the screen is narrower. */
const PANNED: ReadonlySet<string> = new Set(['sequence', 'schedule']);

function figureHtml(picture: Picture, nextId: NextId): string {
  const { content, caption, behind, title } = picture;
  const svg = pictureSvg(picture, nextId());
  const drawn = PANNED.has(content.of)
    ? `<div class="pan" tabindex="0" role="group" aria-label="${htmlText(title)}">${svg}</div>`
    : svg;
  const said = caption ? `<figcaption>${htmlText(caption)}</figcaption>` : '';
  const isBits = content.of === 'bits';
  // The fields' table under the drawing of bits says as much; other pictures have theirs folded.
  const table = behind && !isBits ? `<details><summary>As a table</summary>${tableHtml(behind, nextId)}</details>` : '';
  return `<figure${isBits ? '' : ' class="whole"'}>${drawn}${said}${table}</figure>`;
}

export function blockHtml(block: Block, nextId: NextId): string {
  switch (block.kind) {
    case 'words':
      return `<p${block.tone ? ` class="${block.tone}"` : ''}>${wordsHtml(block.words)}</p>`;
    case 'list': {
      const tag = block.ordered ? 'ol' : 'ul';
      return `<${tag}>${block.items.map((item) => `<li>${wordsHtml(item)}</li>`).join('')}</${tag}>`;
    }
    case 'facts':
      return `<dl class="facts">${block.rows.map(([name, cell]) => `<dt>${htmlText(name)}</dt><dd>${cellHtml(cell, nextId)}</dd>`).join('')}</dl>`;
    case 'subhead':
      return `<p class="sh">${wordsHtml(block.words)}</p>`;
    case 'pictures': {
      const legend = block.legend ? pictureSvg(block.legend, nextId()) : '';
      return `<div class="figures">${block.pictures.map((picture) => figureHtml(picture, nextId)).join('')}</div>${legend}`;
    }
    case 'table':
      return tableHtml(block, nextId);
  }
}

export const titleHtml = (title: Words, group?: string): string => `${group ? tagHtml(group) : ''}${wordsHtml(title)}`;
export const titleText = (title: Words): string => htmlText(plainOf(title));
