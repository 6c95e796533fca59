/** A document and its style sheet, apart. Pure. */
const SHEET = /<style>([\s\S]*?)<\/style>/;

export interface Undressed {
  readonly bare: string;
  readonly sheet: string;
}

/** A document without a sheet of its own stays as it is. */
export function withoutSheet(html: string): Undressed {
  const found = SHEET.exec(html);
  if (!found) return { bare: html, sheet: '' };
  return { bare: html.slice(0, found.index) + html.slice(found.index + found[0].length), sheet: found[1] ?? '' };
}
