/** The list of what was blanked as Markdown. */
import { markdownTable, markdownText } from '../report/markup-text.ts';
import type { BlankedList, ListedFind } from './list.ts';

const KINDS: Readonly<Record<ListedFind['kind'], string>> = {
  'vehicle-number': 'vehicle identification number',
  'serial-number': 'serial or part number',
  typed: 'number named by the person',
  answer: 'diagnostic answer',
  'named-in-map': 'named so by the map',
  position: 'position on earth',
};

const placeText = ({ places }: ListedFind): string =>
  places.map(({ bus, id, where }) => `${bus} ${id}: ${where}`).join('; ') || 'in texts alone';

function findsTable(finds: readonly ListedFind[]): string {
  return markdownTable({
    head: ['find', 'what', 'characters', 'packed as', 'where', 'confidence', 'why'],
    rows: finds.map((find) => [
      find.key,
      KINDS[find.kind],
      find.length > 0 ? String(find.length) : '',
      find.packings.join('; '),
      placeText(find),
      find.confidence.toFixed(2),
      find.why,
    ]),
  });
}

function findsSection(head: string, finds: readonly ListedFind[], none: string): string {
  return `## ${head}\n\n${finds.length > 0 ? findsTable(finds) : none}\n`;
}

function framesSection({
  frames,
  framesWritten,
  framesChanged,
  framesLeftOut,
  remoteFrames,
  errorFrames,
}: BlankedList): string {
  const table = markdownTable({
    head: ['bus', 'identifier', 'frames changed', 'frames left out', 'why left out'],
    rows: frames.map(({ bus, id, changed, leftOut, reason }) => [
      bus,
      id,
      String(changed),
      String(leftOut),
      reason ?? '',
    ]),
  });
  const others =
    remoteFrames + errorFrames > 0
      ? ` ${remoteFrames} remote frames and ${errorFrames} error frames of the capture are not written.`
      : '';
  return `## Frames\n\n${framesWritten} frames written, ${framesChanged} of them with bits written over, ${framesLeftOut} left out.${others} All others are as they were recorded, in their order.\n\n${frames.length > 0 ? `${table}\n` : ''}`;
}

export function blankedMarkdown(list: BlankedList): string {
  const rests =
    list.restsDropped.length > 0
      ? `\nThe payload at rest of these frames is gone from the map, as their guard could not be made anew: ${list.restsDropped.map(markdownText).join(', ')}.\n`
      : '';
  const times = list.timesHidden
    ? 'Times count from zero, and days and times of day are written over.'
    : 'Times of day are as they were recorded.';
  return [
    '# What was blanked\n\nLetters became X, digits and other bits 0. The copy was searched again as a whole before it was written. No number stands in this list.\n',
    findsSection('Blanked', list.blanked, 'Nothing was found.'),
    list.offered.length > 0 ? findsSection('Found and not blanked: nobody asked for it', list.offered, '') : '',
    list.kept.length > 0 ? findsSection('Found and kept by choice', list.kept, '') : '',
    framesSection(list),
    `## Texts and times\n\n${list.textsChanged} texts and figures of the map written over. ${times}\n${rests}`,
    `## What this cannot find\n\n${list.searched}\n\n${list.cannotFind.map((each) => `- ${each}`).join('\n')}\n`,
  ]
    .filter((part) => part !== '')
    .join('\n');
}
