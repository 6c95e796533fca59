/** Files out of and into the page: saved as downloads, picked with the browser's own chooser. Nothing is sent anywhere. */
export function saveAs(name: string, content: BlobPart, type: string): void {
  const address = URL.createObjectURL(new Blob([content], { type }));
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

export function pickFiles(accept: string, many: boolean): Promise<readonly File[]> {
  const input = document.createElement('input');
  input.type = 'file';
  input.accept = accept;
  input.multiple = many;
  input.hidden = true;
  // In the page, so that it is not forgotten while the chooser is open.
  document.body.append(input);
  return new Promise<readonly File[]>((resolve) => {
    input.addEventListener('change', () => resolve([...(input.files ?? [])]));
    input.addEventListener('cancel', () => resolve([]));
    input.click();
  }).finally(() => input.remove());
}

/** "drive-unit-and-pack" from a title, for file names. */
export const fileStem = (title: string, otherwise: string): string =>
  title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '') || otherwise;
