/** The report as Markdown: the same document, its pictures as tables or in words. */
import type { ReportInput } from './context.ts';
import {
  fullCell,
  plainOf,
  runsOf,
  type Block,
  type Cell,
  type Picture,
  type Section,
  type Table,
  type Words,
} from './document.ts';
import { markdownTable, markdownText } from './markup-text.ts';
import { reportModel } from './model.ts';

/** A cell's whole text; pictures by their description. */
function cellText(cell: Cell): string {
  const { words, group, picture, lines, after } = fullCell(cell);
  const said = lines ? lines.map(plainOf).join('; ') : plainOf(words);
  const tag = group && said !== `sender ${group}` ? `[${group}] ` : '';
  return [tag + said + (after ?? ''), picture?.description].filter(Boolean).join(' ');
}

function tableText({ head, rows, otherwise }: Table): string {
  if (rows.length === 0) return otherwise ? markdownText(otherwise) : '';
  const names = head.map((column) => (typeof column === 'string' ? column : column.name));
  return markdownTable({ head: names, rows: rows.map((row) => row.map(cellText)) });
}

/** Blanks at its ends stay: runs of a sentence follow one another without any of their own. */
function runText(text: string): string {
  const said = markdownText(text);
  if (said === '') return text === '' ? '' : ' ';
  return `${/^\s/.test(text) ? ' ' : ''}${said}${/\s$/.test(text) ? ' ' : ''}`;
}

/** In a sentence what is inferred keeps its italics; cells of tables are plain. */
const wordsText = (words: Words): string =>
  runsOf(words)
    .map((run) =>
      typeof run === 'string'
        ? runText(run)
        : run.as === 'inferred'
          ? `*${markdownText(run.text)}*`
          : runText(run.text),
    )
    .join('')
    .trim();

function pictureText({ title, description, caption, behind }: Picture): string {
  const said = [title, description].filter(Boolean).join(': ');
  return [markdownText(said), caption ? markdownText(caption) : '', behind ? tableText(behind) : '']
    .filter(Boolean)
    .join('\n\n');
}

function blockText(block: Block): string {
  switch (block.kind) {
    case 'words':
      return wordsText(block.words);
    case 'list':
      return block.items.map((item, index) => `${block.ordered ? `${index + 1}.` : '-'} ${wordsText(item)}`).join('\n');
    case 'facts':
      return block.rows.map(([name, cell]) => `- ${markdownText(name)}: ${markdownText(cellText(cell))}`).join('\n');
    case 'subhead':
      return `**${markdownText(plainOf(block.words))}**`;
    case 'pictures':
      return block.pictures.map(pictureText).join('\n\n');
    case 'table':
      return tableText(block);
  }
}

function sectionText(section: Section, level: number): string[] {
  return [
    `${'#'.repeat(level)} ${markdownText(plainOf(section.title))}`,
    ...section.blocks.map(blockText).filter(Boolean),
    ...(section.sections ?? []).flatMap((part) => sectionText(part, level + 1)),
  ];
}

export function reportMarkdown(input: ReportInput): string {
  const { title, subtitle, titleBlock, cautions, sections } = reportModel(input);
  return [
    `# ${markdownText(title)}`,
    markdownText(subtitle),
    titleBlock.map(([name, said]) => `- ${markdownText(name)}: ${markdownText(said)}`).join('\n'),
    '## Cautions',
    cautions.map((caution, index) => `${index + 1}. ${markdownText(caution)}`).join('\n'),
    ...sections.flatMap((section) => sectionText(section, 2)),
  ]
    .join('\n\n')
    .concat('\n');
}
