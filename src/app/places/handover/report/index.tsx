/** Report: the very file that is saved, in a frame of its own where nothing can run; its Markdown beside it. */
import type { ReactNode } from 'react';
import { bytes } from '../../../../kit/sheet-figures.ts';
import { FileText } from '../FileText.tsx';
import { filesOf, textIn, useMade } from '../making/use-made.ts';
import { useHandoverOptions } from '../options.ts';
import type { OutputDefinition, OutputProps } from '../output.ts';
import { ShowsSwitch } from '../ShowsSwitch.tsx';
import { AskTraces } from './AskTraces.tsx';
import { Framed } from './Framed.tsx';
import { useHandover } from '../store.ts';

const FILES = /^report\./;
const MARKDOWN = /^report\.md$/;
const HTML = /^report\.html$/;

function Shown({ map }: OutputProps): ReactNode {
  const shows = useHandover((state) => state.shows);
  return (
    <>
      <h2 className="figure">Report</h2>
      <p className="dim small">
        For people: what was found, how far it is trusted, and the cautions. One file without scripts, for reading and
        printing; as text, its twin.
      </p>
      <AskTraces map={map} />
      {shows === 'drawn' ? <Preview map={map} /> : <FileText map={map} output="report" files={MARKDOWN} wraps />}
    </>
  );
}

function Preview({ map }: OutputProps): ReactNode {
  const { handover, problem, outdated } = useMade(map, useHandoverOptions());
  const [file] = filesOf(handover, HTML);
  if (problem) return <p role="alert">The report could not be made: {problem}</p>;
  if (!file) return <p className="inferred dim">The report is being made.</p>;
  return (
    <>
      <p className="small dim">
        <span className="mono">{file.name}</span>, {bytes(file.bytes.length)}
        {outdated && <i role="status">; from before your last change</i>}
      </p>
      <Framed title="Report" html={textIn(file)} />
    </>
  );
}

const useLine = (): string => 'what is known, and how';

export const output: OutputDefinition = {
  name: 'report',
  title: 'Report',
  saves: 'report',
  files: FILES,
  sends: false,
  useLine,
  Shown,
  Controls: ShowsSwitch,
};
