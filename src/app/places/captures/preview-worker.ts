/** Looks at the head of one file with proposed columns, away from the page; one question, one answer. */
import { previewColumns, type PreviewOptions } from '../../../frames/column-preview.ts';
import { sourceOf } from '../../file-sources.ts';

export interface PreviewQuestion extends PreviewOptions {
  readonly file: File;
}

addEventListener('message', ({ data }: MessageEvent<PreviewQuestion>) => {
  void previewColumns(sourceOf(data.file.name, data.file), { columns: data.columns, zone: data.zone }).then(
    (outcome) => postMessage(outcome),
    (error: unknown) => postMessage({ ok: false, problems: [{ code: 'preview-broke', message: String(error) }] }),
  );
});
