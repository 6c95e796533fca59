/** Goes to a place by its digit, wherever in the list it stands. */
import type { Page } from 'playwright-core';

export async function openPlace(page: Page, title: string): Promise<void> {
  const item = page.locator('.rail-item', { has: page.locator('b', { hasText: title }) });
  await page.keyboard.press((await item.getAttribute('aria-keyshortcuts')) ?? '');
}
