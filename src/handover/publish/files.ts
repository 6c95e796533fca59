/** All small files of a publishing copy: the map, its report, the list of what was blanked. */
import { printJson, printMap } from '../../map/print.ts';
import { handoverFiles, type HandoverFile } from '../handover-files.ts';
import type { PublishingCopy } from './copy.ts';
import { blankedMarkdown } from './list-text.ts';

const OF_HANDOVER = ['report.html', 'report.md'];

const text = (name: string, mime: string, content: string): HandoverFile => ({
  name,
  mime,
  bytes: new TextEncoder().encode(content),
});

/** Made from the blanked map alone. */
export function copyFiles({ map, list }: PublishingCopy): readonly HandoverFile[] {
  return [
    text('signal-map.json', 'application/json', printMap(map)),
    ...handoverFiles(map).files.filter(({ name }) => OF_HANDOVER.includes(name)),
    text('blanked.md', 'text/markdown', blankedMarkdown(list)),
    text('blanked.json', 'application/json', printJson(list)),
  ];
}

/** Whether any file still holds one of the numbers, in any spelling that texts are searched for: then nothing is to be written. */
export function firstUnclean({ blankText }: PublishingCopy, files: readonly HandoverFile[]): string | null {
  return files.find(({ bytes }) => blankText(new TextDecoder().decode(bytes)).times > 0)?.name ?? null;
}
