/** Where the hands go in the checklist: to the name first, then from one open item to the next, then on to the trial. */
function focus(element: HTMLElement): void {
  element.focus();
  element.scrollIntoView({ block: 'center' });
}

const find = (selector: string): HTMLElement | null => document.querySelector<HTMLElement>(selector);

/** The first thing that is missing; with nothing missing what can be measured again. */
export function goToWiring(): void {
  const details = document.querySelector<HTMLDetailsElement>('.bench-wiring');
  if (details) details.open = true;
  const by = document.querySelector<HTMLInputElement>('.bench-by input');
  const next = by?.value === '' ? by : (find('.check-open .check-first') ?? find('.bench-checks .button'));
  if (next) focus(next);
}

/** Once an answer was taken. */
export function goToNextOpen(): void {
  const next = find('.check-open .check-first') ?? find('.bench-next');
  if (next) focus(next);
}
