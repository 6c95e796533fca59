/** What the keep-alive plan of a handover is made from, as the command line names it: captures, marks, recordings with a module missing, whose frames are the part's. */
import { parseMarks } from '../actions/marks.ts';
import { ofPart } from '../handover/needs/of-part.ts';
import type { SignalMap } from '../map/schema.ts';
import { CannotDo, offsetOf, WrongUsage, type OptionSpec, type ParsedWords } from './arguments.ts';
import { busMapOption, givenBusMap } from './bus-map.ts';
import { captureFiles, readOptions, titleOf, type CaptureFile } from './capture-arguments.ts';
import { parseFile } from './tasks/context.ts';
import type { NamedCapture, NeedsTaskRequest } from './tasks/needs.ts';
import type { Terminal } from './terminal.ts';

/** Whose frames are the part's: every verb that plans or sends asks it. */
export const PART_OPTION: OptionSpec = {
  name: 'part',
  value: 'SENDER',
  repeats: true,
  help: 'letter or name of the sender that is the part, where the map marks no frame as sent by it',
};

export const NEEDS_OPTIONS: readonly OptionSpec[] = [
  PART_OPTION,
  {
    name: 'also',
    value: 'FILE',
    repeats: true,
    help: 'a further recording of the vehicle with nothing missing: more wakings tell the order from chance',
  },
  {
    name: 'absent',
    value: 'NAME=FILE',
    repeats: true,
    help: 'a recording with the module NAME unplugged; the same NAME again adds a file to it',
  },
  busMapOption("the map's bus A is the captures' bus B"),
];

/** @throws CannotDo where nobody is called so */
export function withPart(map: SignalMap, parsed: ParsedWords): SignalMap {
  const names = parsed.many('part');
  const unknown = names.find(
    (name) => !map.frames.some(({ sender }) => sender?.group === name || sender?.name === name),
  );
  if (unknown !== undefined)
    throw new CannotDo(`The map names no sender "${unknown}". See its frames' \`sender\`, or loomscribe survey.`);
  return names.length > 0 ? ofPart(map, names) : map;
}

function absentFiles(parsed: ParsedWords, taken: readonly CaptureFile[]): Map<string, CaptureFile[]> {
  const byName = new Map<string, CaptureFile[]>();
  for (const text of parsed.many('absent')) {
    const match = /^([^=]+)=(.+)$/.exec(text);
    if (!match) throw new WrongUsage(`--absent takes NAME=FILE, such as brake=brake-unplugged.log, not "${text}".`);
    const name = match[1] as string;
    byName.set(name, [...(byName.get(name) ?? []), ...captureFiles([match[2] as string], taken)]);
  }
  return byName;
}

/** Null where no capture is named: the plan is then made from the map alone. @throws WrongUsage where absences have nothing to be held against */
export async function needsAsked(
  parsed: ParsedWords,
  map: SignalMap,
  terminal: Terminal,
): Promise<NeedsTaskRequest | null> {
  const read = readOptions(parsed);
  const first = captureFiles(parsed.words);
  const captureOf = (files: readonly CaptureFile[]): NamedCapture => ({ files, read, title: titleOf(files) });
  const absent = [...absentFiles(parsed, first)].map(([missing, files]) => ({ ...captureOf(files), missing }));
  const also = parsed.many('also').map((word) => captureOf(captureFiles([word], first)));
  const marksPath = parsed.one('marks');
  if (first.length === 0) {
    const idle = ['absent', 'also', 'marks'].find((name) => parsed.has(name));
    if (idle) throw new WrongUsage(`--${idle} needs the capture that it goes with: name its files first.`);
    return null;
  }
  return {
    map,
    whole: [captureOf(first), ...also],
    marks: marksPath ? await parseFile(marksPath, parseMarks, terminal) : null,
    marksOffset: offsetOf(parsed.one('marks-offset'), 'marks-offset'),
    seed: 1,
    absent,
    busMap: givenBusMap(parsed),
  };
}
