/** The report as one self-contained HTML file: no script, nothing loaded, prints well. */
import type { ReportInput } from './context.ts';
import type { Report, Section } from './document.ts';
import { blockHtml, marksHtml, titleHtml, titleText, type NextId } from './html-blocks.ts';
import { REPORT_STYLE } from './html-style.ts';
import { htmlText } from './markup-text.ts';
import { reportModel } from './model.ts';

const POLICY = "default-src 'none'; style-src 'unsafe-inline'";
/** Sections of so many blocks may break over pages: a page left half empty is worse. */
const LONG_FROM_ROWS = 24;

function countIds(): NextId {
  let count = 0;
  return () => `p${++count}`;
}

const rowsIn = ({ blocks }: Section): number =>
  blocks.reduce((sum, block) => sum + (block.kind === 'table' ? block.rows.length : 0), 0);

function partHtml(section: Section, nextId: NextId): string {
  const look = rowsIn(section) > LONG_FROM_ROWS ? 'part long' : 'part';
  const blocks = section.blocks.map((block) => blockHtml(block, nextId)).join('');
  return `<section class="${look}" id="${section.id}"><h3>${titleHtml(section.title, section.group)}</h3>${blocks}</section>`;
}

function sectionHtml(section: Section, index: number, nextId: NextId): string {
  const blocks = section.blocks.map((block) => blockHtml(block, nextId)).join('');
  const parts = (section.sections ?? []).map((part) => partHtml(part, nextId)).join('');
  return `<section id="${section.id}"><h2><span class="no">${index + 1}</span>${titleHtml(section.title)}</h2>${blocks}${parts}</section>`;
}

function contentsHtml({ sections }: Report): string {
  const item = (section: Section, index: number): string => {
    const parts = (section.sections ?? [])
      .map((part) => `<li><a href="#${part.id}">${titleText(part.title)}</a></li>`)
      .join('');
    const number = `<span class="no">${index + 1}</span>`;
    return `<li><a href="#${section.id}">${number}${titleText(section.title)}</a>${parts ? `<ol>${parts}</ol>` : ''}</li>`;
  };
  return `<nav class="rail" aria-label="Contents"><h2>Contents</h2><ol><li><a href="#cautions"><span class="no"></span>Cautions</a></li>${sections.map(item).join('')}</ol></nav>`;
}

function topHtml({ title, subtitle, titleBlock, cautions }: Report): string {
  const rows = titleBlock.map(([name, said]) => `<dt>${htmlText(name)}</dt><dd>${htmlText(said)}</dd>`).join('');
  const items = cautions.map((caution) => `<li>${htmlText(caution)}</li>`).join('');
  return [
    `<header class="top"><div><h1>${htmlText(title)}</h1><p class="sub">${htmlText(subtitle)}</p></div><dl class="block">${rows}</dl></header>`,
    `<section class="cautions" id="cautions"><h2>Cautions</h2><ol>${items}</ol></section>`,
  ].join('');
}

export function reportHtml(input: ReportInput): string {
  const report = reportModel(input);
  const nextId = countIds();
  return [
    '<!doctype html>',
    '<html lang="en"><head><meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="${POLICY}">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<title>${htmlText(report.title)}</title><style>${REPORT_STYLE}</style></head><body>`,
    `${marksHtml()}<div class="sheet">${contentsHtml(report)}<main>${topHtml(report)}`,
    ...report.sections.map((section, index) => sectionHtml(section, index, nextId)),
    '<footer>Upright is measured, <span class="in">italic is inferred</span>. One hue for a sender, its letter always beside it.</footer>',
    '</main></div></body></html>',
    '',
  ].join('\n');
}
