/** How wide the time column is, from the one expression in the styles that decides it. */
import { useEffect } from 'react';
import { useView } from '../stores/view.ts';

function measure(): number {
  const probe = document.querySelector<HTMLElement>('.ruler-time');
  if (probe) return probe.clientWidth;
  return useView.getState().timeWidth;
}

export function useTimeWidth(): void {
  const place = useView((view) => view.place);
  useEffect(() => {
    const update = (): void => useView.getState().setTimeWidth(measure());
    update();
    addEventListener('resize', update);
    return () => removeEventListener('resize', update);
  }, [place]);
}
