/** Text of a map inside HTML and Markdown: shown as it is, never taken for markup. */
const HTML_ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Characters that turn the direction of writing, or cannot be shown. */
const UNSHOWABLE = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f\u200e\u200f\u202a-\u202e\u2066-\u2069]/g;

export const htmlText = (text: string): string =>
  text.replace(UNSHOWABLE, '\u00b7').replace(/[&<>"']/g, (character) => HTML_ENTITIES[character] ?? character);

/** One line; every character that Markdown or HTML inside it could act on is escaped. */
export const markdownText = (text: string): string =>
  text
    .replace(UNSHOWABLE, '\u00b7')
    .replace(/\s+/g, ' ')
    .trim()
    .replace(/[\\`*_{}[\]()#+!|~<>&]/g, (character) => HTML_ENTITIES[character] ?? `\\${character}`)
    .replace(/^([-=:])/, '\\$1')
    .replace(/^(\d+)\./, '$1\\.');

export interface TextTable {
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

export function markdownTable({ head, rows }: TextTable): string {
  const line = (cells: readonly string[]): string =>
    `| ${cells.map((cell) => markdownText(cell) || ' ').join(' | ')} |`;
  return [line(head), `| ${head.map(() => '---').join(' | ')} |`, ...rows.map(line)].join('\n');
}
