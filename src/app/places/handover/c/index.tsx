/** C source: how it is written, what may be set, and the files as they would be saved. */
import type { ReactNode } from 'react';
import { whyNotSent } from '../../../../handover/encode-choice.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { count, plural } from '../../../../kit/sheet-figures.ts';
import { FileText } from '../FileText.tsx';
import type { OutputDefinition, OutputProps } from '../output.ts';
import { Choices } from './Choices.tsx';
import { Releases } from './Releases.tsx';

const FILES = /^signal_map\.[ch]$/;

function Shown({ map }: OutputProps): ReactNode {
  return (
    <>
      <h2 className="figure">C source</h2>
      <p className="dim small">
        C99 without allocation, for C++ as well. A payload to be sent starts from the one recorded at rest, never from
        zeros; what moves the machine stays out.
      </p>
      <Choices />
      <Releases map={map} />
      <FileText map={map} output="c" files={FILES} />
    </>
  );
}

function useLine({ frames }: SignalMap): string {
  const sent = frames.filter((frame) => whyNotSent(frame) === null).length;
  return `${plural(frames.length, 'frame')}, ${count(sent)} can be sent`;
}

export const output: OutputDefinition = {
  name: 'c',
  title: 'C source',
  saves: 'C source',
  files: FILES,
  sends: true,
  useLine,
  Shown,
};
