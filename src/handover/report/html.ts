/** The report as one self-contained HTML file: no script, nothing loaded, prints well. */
import type { ReportInput } from './context.ts';
import type { Block, Report, Section } from './document.ts';
import { blockHtml, marksHtml, titleHtml, titleText, writing, type Writing, columnStyle } from './html-blocks.ts';
import { REPORT_STYLE } from './html-style.ts';
import { htmlText } from './markup-text.ts';
import { reportModel } from './model.ts';

const POLICY = "default-src 'none'; style-src 'unsafe-inline'";
/** Sections of so many blocks may break over pages: a page left half empty is worse. */
const LONG_FROM_ROWS = 24;

const rowsIn = ({ blocks }: Section): number =>
  blocks.reduce((sum, block) => sum + (block.kind === 'table' ? block.rows.length : 0), 0);

function partHtml(section: Section, file: Writing): string {
  const look = rowsIn(section) > LONG_FROM_ROWS ? 'part long' : 'part';
  const [first, second, ...others] = section.blocks;
  const isPair = first?.kind === 'facts' && second?.kind === 'pictures';
  const html = (all: readonly Block[]): string => all.map((block) => blockHtml(block, file)).join('');
  const blocks = isPair ? `<div class="pair">${html([first, second])}</div>${html(others)}` : html(section.blocks);
  return `<section class="${look}" id="${section.id}"><h3>${titleHtml(section.title, section.group)}</h3>${blocks}</section>`;
}

function sectionHtml(section: Section, index: number, file: Writing): string {
  const blocks = section.blocks.map((block) => blockHtml(block, file)).join('');
  const parts = (section.sections ?? []).map((part) => partHtml(part, file)).join('');
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
  const file = writing();
  const sections = report.sections.map((section, index) => sectionHtml(section, index, file));
  return [
    '<!doctype html>',
    '<html lang="en"><head><meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="${POLICY}">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<title>${htmlText(report.title)}</title><style>${REPORT_STYLE}@media screen and (max-width:700px){${columnStyle(file)}}</style></head><body>`,
    `${marksHtml()}<div class="sheet">${contentsHtml(report)}<main>${topHtml(report)}`,
    ...sections,
    '<footer>Upright is measured, <i>italic is inferred</i>. One hue for a sender, its letter always beside it.</footer>',
    '</main></div></body></html>',
    '',
  ].join('\n');
}
