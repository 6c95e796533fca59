/** Some buttons go away when they have done their work: the focus must not go with them to the top of the page. */

/** Gives the focus to what stands at `selector`, if by the next frame nothing has it. */
export function keepFocus(selector: string): void {
  requestAnimationFrame(() => {
    if (document.activeElement && document.activeElement !== document.body) return;
    document.querySelector<HTMLElement>(selector)?.focus({ preventScroll: true });
  });
}

/** For what is done to the field held. */
export const WEAVE = '.payloads-weave';
/** For what is done to a guard's rule: the button that opens it, or the first way to try one. */
export const GUARD = '.payloads-guard-acts .button';
