/** Files of an output as text: one at a time, chosen by its name. Until they are made it is said so; those from before the last change say so too. */
import type { ReactNode } from 'react';
import type { HandoverFile } from '../../../handover/handover-files.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { bytes, plural } from '../../../kit/sheet-figures.ts';
import { useHandoverOptions } from './options.ts';
import { filesOf, textIn, useMade } from './making/use-made.ts';
import type { OutputName } from './output.ts';
import { useHandover } from './store.ts';

export interface FileTextProps {
  readonly map: SignalMap;
  readonly output: OutputName;
  readonly files: RegExp;
  readonly wraps?: boolean;
}

export function FileText({ map, output, files: own, wraps }: FileTextProps): ReactNode {
  const { handover, problem, outdated } = useMade(map, useHandoverOptions());
  const chosen = useHandover(({ files }) => files[output]);
  const files = filesOf(handover, own);
  const open = files.find(({ name }) => name === chosen) ?? files[0];
  if (problem) return <p role="alert">The files could not be made: {problem}</p>;
  if (!open) return <p className="inferred dim">The files are being made.</p>;
  const text = textIn(open);
  return (
    <section className="handover-files" aria-label="Files">
      <p className="line-of">
        {files.length > 1 ? (
          <FileSwitch output={output} files={files} open={open} />
        ) : (
          <b className="mono">{open.name}</b>
        )}
        <span className="dim small">
          {plural(text.split('\n').length - 1, 'line')}, {bytes(open.bytes.length)}
          {outdated && <i role="status">; from before your last change</i>}
        </span>
      </p>
      <pre className={`handover-text ${wraps ? 'wraps' : ''}`} tabIndex={0} aria-label={open.name}>
        {text}
      </pre>
    </section>
  );
}

function FileSwitch({
  output,
  files,
  open,
}: {
  output: OutputName;
  files: readonly HandoverFile[];
  open: HandoverFile;
}): ReactNode {
  return (
    <span className="switch" role="group" aria-label="File">
      {files.map((file) => (
        <button
          key={file.name}
          type="button"
          className="mono"
          aria-pressed={file === open}
          onClick={() => openFile(output, file.name)}
        >
          {file.name}
        </button>
      ))}
      <span className="switch-key">
        <kbd>F</kbd>
      </span>
    </span>
  );
}

function openFile(output: OutputName, name: string): void {
  const { files, set } = useHandover.getState();
  set({ files: { ...files, [output]: name } });
}

/** The next of an output's files, as they were made last. */
export function nextFile(output: OutputName, files: readonly HandoverFile[]): void {
  const at = files.findIndex(({ name }) => name === useHandover.getState().files[output]);
  const next = files[(Math.max(0, at) + 1) % Math.max(1, files.length)];
  if (next) openFile(output, next.name);
}
