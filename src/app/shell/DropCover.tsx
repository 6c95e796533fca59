/** The whole window takes dropped files: as a capture of their own, added to the one that is open, or as what the place that stands there takes. */
import { useEffect, useState, type ReactNode } from 'react';
import { useCurrentCapture } from '../stores/finding.ts';
import { useView } from '../stores/view.ts';
import { useDropTargets } from './drop-targets.ts';
import { takeFiles } from './taking.ts';

const carriesFiles = (event: DragEvent): boolean => [...(event.dataTransfer?.types ?? [])].includes('Files');

export function DropCover(): ReactNode {
  const [open, setOpen] = useState(false);
  const [over, setOver] = useState('new');
  const current = useCurrentCapture();
  const { targets } = useDropTargets();
  useEffect(() => {
    const enter = (event: DragEvent): void => {
      if (!carriesFiles(event)) return;
      event.preventDefault();
      setOpen(true);
    };
    const leave = (event: DragEvent): void => {
      if (event.relatedTarget === null) setOpen(false);
    };
    const drop = (event: DragEvent): void => {
      if (!carriesFiles(event)) return;
      event.preventDefault();
      setOpen(false);
      const target = event.target instanceof Element ? event.target.closest('[data-drop]') : null;
      const into = target instanceof HTMLElement ? target.dataset['drop'] : 'new';
      const files = [...(event.dataTransfer?.files ?? [])];
      const own = useDropTargets.getState().targets.find(({ title }) => title === into);
      if (own) own.take(files);
      else void takeFiles(files, into === 'add' ? useView.getState().captureId : null);
    };
    addEventListener('dragenter', enter);
    addEventListener('dragover', enter);
    addEventListener('dragleave', leave);
    addEventListener('drop', drop);
    return () => {
      removeEventListener('dragenter', enter);
      removeEventListener('dragover', enter);
      removeEventListener('dragleave', leave);
      removeEventListener('drop', drop);
    };
  }, []);
  if (!open) return null;
  return (
    <div className="drop-cover" style={current ? undefined : { gridTemplateColumns: '1fr' }}>
      {targets.map(({ title, says }) => (
        <div
          key={title}
          data-drop={title}
          className={`drop-target ${over === title ? 'over' : ''}`}
          onDragEnter={() => setOver(title)}
        >
          <b>{title}</b>
          <span className="dim">{says}</span>
        </div>
      ))}
      <div data-drop="new" className={`drop-target ${over === 'new' ? 'over' : ''}`} onDragEnter={() => setOver('new')}>
        <b>A capture of its own</b>
        <span className="dim">several files dropped together are read as one recording</span>
      </div>
      {current && (
        <div
          data-drop="add"
          className={`drop-target ${over === 'add' ? 'over' : ''}`}
          onDragEnter={() => setOver('add')}
        >
          <b>Add to “{current.entry.title}”</b>
          <span className="dim">further files of the same recording</span>
        </div>
      )}
    </div>
  );
}
