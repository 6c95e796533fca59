/** What axe-core finds on a page as it stands. */
import axe from 'axe-core';
import type { Page } from 'playwright-core';

export async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe.source.replace('"use strict";', ''));
  return page.evaluate(async () => {
    const run = (
      window as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }
    ).axe;
    return (await run.run()).violations.map(
      ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 200)).join(' | ')}`,
    );
  });
}
