/** The report as Markdown. */
import { markdownTable, markdownText, type TextTable } from './markup-text.ts';
import * as parts from './parts.ts';

const table = (content: TextTable, otherwise: string): string =>
  content.rows.length > 0 ? markdownTable(content) : otherwise;
const list = (lines: readonly string[]): string => lines.map((line) => `- ${markdownText(line)}`).join('\n');

export function reportMarkdown({ map, cautions, leftOut }: parts.ReportInput): string {
  const frames = map.frames.flatMap((frame) => [
    `### ${markdownText(frame.name)} (${markdownText(frame.bus)} ${frame.id})`,
    list(parts.guardLines(frame)),
    '',
    table(parts.signalTable(frame), 'No named signal.'),
    '',
  ]);
  const sections = [
    `# ${markdownText(map.part.title) || 'Donor part'}`,
    parts.FIRST_VERSION,
    '',
    list(parts.identityLines(map)),
    '## Cautions',
    list(cautions),
    '## Buses',
    table(parts.busTable(map), 'None named.'),
    '## Frames',
    table(parts.frameTable(map), 'None.'),
    '',
    ...frames,
    '## Sequences',
    list(parts.sequenceLines(map)) || 'None found yet.',
    '## Not in the encoder',
    table(parts.leftOutTable(leftOut), 'Nothing was left out.'),
    '',
  ];
  return sections.join('\n');
}
