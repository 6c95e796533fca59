/** Hands without a mouse: Tab to what answers to a name; every stop on the way must show that it has the focus. */
import type { Page } from 'playwright-core';
import { expect } from 'vitest';

const STOPS_MOST = 250;

interface Stop {
  /** '' where nothing has the focus. */
  readonly label: string;
  readonly shown: boolean;
}

const stopOf = (page: Page): Promise<Stop> =>
  page.evaluate(() => {
    const element = document.activeElement as HTMLElement | null;
    if (!element || element === document.body) return { label: '', shown: true };
    const { outlineStyle, outlineWidth } = getComputedStyle(element);
    const { width, height } = element.getBoundingClientRect();
    return {
      label: `${element.getAttribute('aria-label') ?? ''} ${element.innerText ?? ''}`,
      shown: outlineStyle !== 'none' && Number.parseFloat(outlineWidth) >= 1 && width > 0 && height > 0,
    };
  });

/** Presses Tab until what has the focus answers to this name. */
export async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let presses = 0; presses < STOPS_MOST; presses++) {
    const { label, shown } = await stopOf(page);
    if (name.test(label) && (shown || presses === 0)) return;
    expect(presses === 0 || shown, `"${label.trim()}" shows its focus`).toBe(true);
    await page.keyboard.press('Tab');
  }
  throw new Error(`no way by Tab to ${name}`);
}

/** What was done has not thrown the hands back to the top of the page. */
export const expectFocusKept = (page: Page): Promise<void> =>
  expect.poll(async () => (await stopOf(page)).label, { message: 'something has the focus' }).not.toBe('');
