/** Statements of C put together: indented, and in blocks. */

export const indent = (lines: readonly string[], by = '  '): string[] => lines.map((line) => by + line);

/** Statements under a condition (null: always), in a block of their own. */
export function block(condition: string | null, lines: readonly string[]): string[] {
  return [condition ? `if (${condition}) {` : '{', ...indent(lines), '}'];
}

/** A function with an empty line after it. */
export const definition = (head: string, body: readonly string[]): string[] => [head, '{', ...indent(body), '}', ''];
